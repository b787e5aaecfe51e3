import type { Baseline, EnergyAccount, Saving } from "../api/energy";
import { count, counted, decimals, signed } from "../figures/number";
import { measure, type Quantity } from "../figures/units";
import type { UnitSystem } from "../state/preferences";
import { useView } from "../state/view";
import { listed } from "../words/alert";

/** Below this, R² says little where energy hardly varied, and CV(RMSE) counts. */
const TELLING_R2 = 0.75;

/** The baseline as its equation with how well it stands, or why there is none; and the saving against it. */
export function BaselineSection({ account }: { account: EnergyAccount }) {
  const { baseline, saving } = account;
  return (
    <section class="panel">
      <h2>Against the energy baseline (EnB)</h2>
      {!baseline ? <p class="quiet">None is asked for. Choose its two ends above, or write baseline_from and baseline_to in [energy]: without it there is no saving.</p>
        : baseline.refused ? <p class="notice"><strong>No baseline from {baseline.from} to {baseline.to}:</strong> {baseline.refused}. Without it there is no saving.</p>
        : <Stands baseline={baseline} />}
      {saving && <SavingWords saving={saving} />}
    </section>
  );
}

function Stands({ baseline }: { baseline: Baseline }) {
  const { units } = useView();
  return (
    <>
      <p class="equation">
        kWh a shift = {count(baseline.constant_kwh)}
        {baseline.variables.map((variable) => {
          const { slope, error, unit } = perUnit(variable, units);
          return <span key={variable.name}> {slope < 0 ? "−" : "+"} {decimals(Math.abs(slope), 0)} (±{decimals(error, 0)}) × {unit} of {variable.name}</span>;
        })}
      </p>
      <dl class="facts">
        <div><dt>From</dt><dd>{baseline.from} to before {baseline.to}: {counted(baseline.records ?? 0, "shift")}</dd></div>
        <div><dt>R²</dt><dd>{decimals(baseline.r2, 2)}</dd></div>
        <div><dt>CV(RMSE)</dt><dd>{decimals(baseline.cv_rmse_pct, 1)} %</dd></div>
        <div><dt>NMBE, last third foreseen</dt><dd>{signed(baseline.nmbe_pct, 1)} %</dd></div>
        {baseline.left_out.length > 0 && <div><dt>Not significant, left out</dt><dd>{listed(baseline.left_out)}</dd></div>}
      </dl>
      <p class="quiet">
        {(baseline.r2 ?? 1) < TELLING_R2 && "Energy hardly varied then, so that R² says little and CV(RMSE) counts. "}
        Static factors (zones, burners, shift pattern) are taken as unchanged: if one changed, make the baseline anew.
      </p>
    </>
  );
}

/** A coefficient for the units wanted. */
function perUnit(variable: Baseline["variables"][number], units: UnitSystem): { slope: number; error: number; unit: string } {
  const quantity: Quantity | null = variable.unit === "t" ? "mass_t" : null;
  const each = quantity === null ? 1 : measure(quantity, units).from(1);
  const unit = quantity === null ? variable.unit.replace("degC", "°C") : measure(quantity, units).unit;
  return { slope: variable.kwh_per_unit / each, error: variable.error_kwh_per_unit / each, unit };
}

function SavingWords({ saving }: { saving: Saving }) {
  const { clock } = useView();
  if (saving.shifts === 0) return <p class="quiet">No shift of the period could be held against it: see how much is known of them.</p>;
  const { turn } = saving;
  return (
    <>
      <p class="saving">
        <strong>{saving.kwh < 0 ? "Used more" : "Saved"}: {count(Math.abs(saving.kwh))} kWh ± {count(saving.uncertainty_kwh)}</strong> (95 %), {signed(saving.share_pct, 1)} % of the {count(saving.expected_kwh)} kWh expected, over {counted(saving.shifts, "shift")}
        {saving.is_certain ? "." : ": no more than scatter."}
      </p>
      <p>
        {turn
          ? <>The CUSUM turned with the {turn.shift} shift of {clock.date(`${turn.date}T12:00:00Z`)}: from {signed(turn.before_kwh, 0)} to {signed(turn.after_kwh, 0)} kWh a shift.</>
          : "The CUSUM turned nowhere that stands out."}
        {saving.not_compared > 0 && ` ${counted(saving.not_compared, "shift")} left out: incomplete, or of a kind or product that the baseline does not know.`}
      </p>
      {saving.beyond.map(({ variable, shifts }) => <p key={variable} class="extrapolated"><strong>EXTRAPOLATED.</strong> {variable} lies beyond the baseline's range in {counted(shifts, "shift")}.</p>)}
    </>
  );
}
