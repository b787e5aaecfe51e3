import type { Injector, TransitRun } from "../api/transit";
import { decimals, isFigure, signed } from "../figures/number";
import { withUnit } from "../figures/units";
import { Mark } from "../parts/mark";
import { UnderSteam } from "../parts/under-steam";
import { link } from "../state/route";
import { useView } from "../state/view";
import { productName } from "../words/line";

/** What the trade looks at first: the peak, the fall behind it, the steam, and what of it reached the dough. */
export function RunFacts({ run }: { run: TransitRun }) {
  const { model, units } = useView();
  const { peak, surface } = run;
  const drop = run.drop_1_to_2_pct;
  return (
    <div class="summary">
      {!run.is_whole && <p class="within"><strong>The run ends before the last zone:</strong> only what it passed is shown.</p>}
      <dl class="facts">
        <div><dt>Product</dt><dd>{productName(model, run.product)}</dd></div>
        <div><dt>Band speed</dt><dd>{withUnit(run.band_speed_m_min, "band_speed_m_min", units)} <span class="quiet">{run.speed_is_stored ? "as stored" : "as given"}</span></dd></div>
        {peak && <div><dt>Wettest</dt><dd>{withUnit(peak.moisture_pct, "moisture_pct", units)} in zone {peak.zone}, at {withUnit(peak.metre, "length_m", units)}, {decimals(peak.seconds, 0)} s after entering</dd></div>}
        {isFigure(drop) && <div><dt>Zone 1 to 2</dt><dd>{drop < 0 ? `rises ${decimals(-drop, 0)} %` : `falls ${decimals(drop, 0)} %`}</dd></div>}
        <div><dt>Zone 3 of the wettest</dt><dd>{decimals(run.zone3_to_peak_pct, 0)} %</dd></div>
        {isFigure(run.steam_exposure_s) && <UnderSteam seconds={run.steam_exposure_s} />}
        {surface && (
          <div>
            <dt>Surface of the dough, computed</dt>
            <dd>wetted for {decimals(surface.wetted_s, 0)} s, {withUnit(surface.condensate_g_m2, "condensate_g_m2", units)} condensed, {withUnit(77, "air_temperature_c", units)} {surface.gelatinised_while_wet ? "passed" : "not passed"} while wet</dd>
          </div>
        )}
        {run.normal && <div><dt>Held against</dt><dd><a href={link(["normals", run.normal])}>{run.normal}</a></dd></div>}
      </dl>
      {run.injectors.length > 0 && (
        <ul class="injectors">{run.injectors.map((injector) => <InjectorItem key={injector.metre} injector={injector} />)}</ul>
      )}
    </div>
  );
}

function InjectorItem({ injector }: { injector: Injector }) {
  const { units } = useView();
  const words = injector.works === true ? "gave steam" : injector.works === false ? "gave nothing: look at its valve and bore" : "cannot be told: no samples on both sides";
  return (
    <li>
      <Mark sign={injector.works === true ? "normal" : injector.works === false ? "medium" : "unknown"} />
      <span>Injector at {withUnit(injector.metre, "length_m", units)} {words}{isFigure(injector.rise_pct) && <span class="quiet">, {signed(injector.rise_pct, 1)} % vol behind it</span>}</span>
    </li>
  );
}
