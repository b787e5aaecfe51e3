import type { EnergyAccount } from "../api/energy";
import { decimals, isFigure } from "../figures/number";

/** The factors behind the figures with their basis and source, and what is not there: an audit asks for both. */
export function RestsOn({ account }: { account: EnergyAccount }) {
  const { factors, missing } = account;
  const price = (value: number) => `${value} ${factors.currency ?? ""} a kWh`;
  const co2 = (value: number, source: string | null | undefined) => `${value} kg a kWh, source: ${source ?? "not named"}`;
  return (
    <section class="panel">
      <h2>What the figures rest on</h2>
      <dl class="facts">
        {isFigure(factors.gas_kwh_per_m3) && <div><dt>Gas</dt><dd>{factors.gas_kwh_per_m3} kWh/m³ {factors.gas_basis}; sums and prices are gross</dd></div>}
        {isFigure(factors.gas_per_kwh) && <div><dt>Price of gas</dt><dd>{price(factors.gas_per_kwh)}</dd></div>}
        {isFigure(factors.electricity_per_kwh) && <div><dt>Price of electricity</dt><dd>{price(factors.electricity_per_kwh)}</dd></div>}
        {isFigure(factors.gas_co2_kg_per_kwh) && <div><dt>CO₂ of gas</dt><dd>{co2(factors.gas_co2_kg_per_kwh, factors.gas_co2_source)}</dd></div>}
        {isFigure(factors.electricity_co2_kg_per_kwh) && <div><dt>CO₂ of electricity</dt><dd>{co2(factors.electricity_co2_kg_per_kwh, factors.electricity_co2_source)}</dd></div>}
        {isFigure(factors.boiler_efficiency_pct) && <div><dt>Boiler, of gross</dt><dd>{decimals(factors.boiler_efficiency_pct, 0)} %</dd></div>}
      </dl>
      {missing.length > 0 && (
        <>
          <h3>Missing</h3>
          <ul class="rows">{missing.map((one) => <li key={one.lacks}><strong>{one.lacks}:</strong> {one.without}. <span class="quiet">Write {one.write}.</span></li>)}</ul>
        </>
      )}
    </section>
  );
}
