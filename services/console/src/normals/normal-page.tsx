import type { Normal } from "../api/records";
import { count, decimals, range } from "../figures/number";
import { convert, measure, withUnit } from "../figures/units";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { useWholeList } from "../state/list";
import { link, replaceQuery, type Route } from "../state/route";
import { useView } from "../state/view";
import { lineName, sentence } from "../words/alert";
import { productName } from "../words/line";
import { Decide } from "./decide";
import { Difference } from "./difference";
import { Scroll } from "../parts/scroll";

/** One normal: what it was learned from, what it expects, how it differs from another, and who let it hold. */
export function NormalPage({ id, route }: { id: string; route: Route }) {
  const answer = useAnswer<Normal>(`/normals/${id.split("/").map(encodeURIComponent).join("/")}`);
  const all = useWholeList<Normal>("/normals");
  const against = route.query.get("against") ?? "";
  return (
    <PageFrame title={`Normal ${id}`} aside={<p class="links"><a href={link(["normals"])}>All normals</a></p>}>
      <Awaited answer={answer} missing="There is no such normal.">
        {(normal) => {
          const others = (all.value?.items ?? []).filter((one) => one.line === normal.line && one.product === normal.product && one.id !== normal.id);
          return (
            <>
              <LearnedFrom normal={normal} />
              <Expects normal={normal} />
              <section class="panel">
                <div class="panel-head">
                  <h2>Compared</h2>
                  <label class="filter"><span>with</span>
                    <select value={against} onChange={(event) => replaceQuery(route, { against: event.currentTarget.value })}>
                      <option value="">none</option>
                      {others.map((other) => <option key={other.id} value={other.id}>{other.id} ({other.standing})</option>)}
                    </select>
                  </label>
                </div>
                {against !== "" ? <Difference before={against} after={normal.id} />
                  : <p class="quiet">{others.length === 0 ? "There is no other version of this normal." : "Choose a version to see what has changed."}</p>}
              </section>
              <Decide normal={normal} changed={answer.ask} />
            </>
          );
        }}
      </Awaited>
    </PageFrame>
  );
}

function LearnedFrom({ normal }: { normal: Normal }) {
  const { status, model, clock, units } = useView();
  const ways = normal.ways_of_running_pct;
  return (
    <section class="panel">
      <h2>What it was learned from</h2>
      <dl class="facts">
        <div><dt>Oven</dt><dd><a href={link(["ovens", normal.line])}>{lineName(status, normal.line)}</a></dd></div>
        <div><dt>Product</dt><dd>{productName(model, normal.product)}</dd></div>
        <div><dt>Standing</dt><dd>{sentence(normal.standing)}{normal.by && ` by ${normal.by}`}{normal.at && `, ${clock.date(normal.at)}`}</dd></div>
        <div><dt>Days</dt><dd>{clock.date(normal.learned_from)} to {clock.date(normal.learned_to)}</dd></div>
        <div><dt>Baking</dt><dd>{decimals(normal.hours, 1)} h in {normal.runs} runs</dd></div>
        <div><dt>Windows used</dt><dd>{count(normal.windows_used)}</dd></div>
        <div><dt>Left out as unlikely</dt><dd>{count(normal.windows_left_out)}</dd></div>
        <div><dt>Rises learned from</dt><dd>{normal.rises_learned_from}</dd></div>
        <div><dt>Speeds</dt><dd>{withUnit(normal.slowest_m_min, "band_speed_m_min", units)} to {withUnit(normal.fastest_m_min, "band_speed_m_min", units)}</dd></div>
        <div><dt>{ways.length === 1 ? "Way of running" : `${ways.length} ways of running`}</dt><dd>{ways.map((share) => `${decimals(share, 0)} %`).join(", ")} of the time</dd></div>
      </dl>
    </section>
  );
}

function Expects({ normal }: { normal: Normal }) {
  const { units } = useView();
  const zones = normal.at_speeds[0]?.zones ?? [];
  const air = measure("air_temperature_c", units);
  return (
    <section class="panel">
      <h2>What it expects</h2>
      <Scroll>
        <table>
          <caption>Moisture by volume in % vol with its band; air temperature in {air.unit} below it</caption>
          <thead><tr><th scope="col">At</th>{zones.map((zone) => <th key={zone.zone} scope="col" class="figure">Zone {zone.zone}</th>)}</tr></thead>
          <tbody>
            {normal.at_speeds.map((at) => (
              <tr key={at.speed_m_min}>
                <th scope="row" class="nowrap">{withUnit(at.speed_m_min, "band_speed_m_min", units)}</th>
                {at.zones.map(({ zone, moisture_pct, air_temperature_c }) => (
                  <td key={zone} class="figure">
                    <strong>{decimals(moisture_pct.usual, 1)}</strong> <span class="quiet">{range(moisture_pct.low, moisture_pct.high, 1)}</span>
                    {air_temperature_c && <span class="below">{decimals(convert(air_temperature_c.usual, "air_temperature_c", units), 0)}</span>}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </section>
  );
}
