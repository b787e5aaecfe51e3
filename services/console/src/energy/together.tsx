import type { EnergyAccount } from "../api/energy";
import { count, decimals, isFigure, money } from "../figures/number";
import { tonnes, withUnit } from "../figures/units";
import { useView } from "../state/view";

/** All of the period: the indicator with its moisture beside it, then what was used, made, paid and emitted. */
export function Together({ account }: { account: EnergyAccount }) {
  const { units } = useView();
  const { whole, factors } = account;
  const idle = isFigure(whole.energy_kwh) && isFigure(whole.idle_kwh) && whole.energy_kwh > 0 ? (100 * whole.idle_kwh) / whole.energy_kwh : null;
  return (
    <section class="panel">
      <h2>Together</h2>
      <div class="indicator">
        <p><span>Energy performance indicator (EnPI)</span><strong>{withUnit(whole.kwh_per_t, "energy_kwh_t", units)}</strong></p>
        <p><span>at a moisture in zone 3 of</span><strong>{withUnit(whole.zone3_moisture_pct, "moisture_pct", units)}</strong></p>
      </div>
      <p class="quiet">The indicator also falls when bread leaves the oven wetter: it says nothing without the moisture beside it.</p>
      <dl class="facts">
        <div><dt>Energy</dt><dd>{count(whole.energy_kwh)} kWh</dd></div>
        <div><dt>Of it with no dough entering</dt><dd>{decimals(idle, 1)} %</dd></div>
        <div><dt>Good product</dt><dd>{withUnit(tonnes(whole.good_kg), "mass_t", units)}</dd></div>
        <div><dt>Water evaporated</dt><dd>{withUnit(tonnes(whole.evaporated_kg), "mass_t", units)}</dd></div>
        <div><dt>Steam</dt><dd>{withUnit(whole.steam_kg, "mass_kg", units)}</dd></div>
        <div><dt>Cost</dt><dd>{money(whole.cost, factors.currency)}</dd></div>
        <div><dt>CO₂</dt><dd>{withUnit(tonnes(whole.co2_kg), "mass_t", units)}</dd></div>
        <div><dt>Baked for</dt><dd>{decimals(whole.baking_h, 1)} h</dd></div>
        <div><dt>Known of the time, at least</dt><dd>{decimals(whole.coverage_pct, 0)} %</dd></div>
      </dl>
    </section>
  );
}
