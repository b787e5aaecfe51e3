import type { EnergyAccount, EnergyRecord } from "../api/energy";
import { count, decimals, isFigure, money, signed } from "../figures/number";
import { figure, measure, tonnes } from "../figures/units";
import { Scroll } from "../parts/scroll";
import { useView } from "../state/view";
import { productName } from "../words/line";

const NAMES = { shift: "Shift", day: "Day", month: "Month", product: "Product" };

/** A record for each period, the indicator never without its moisture. */
export function Records({ account }: { account: EnergyAccount }) {
  const { units } = useView();
  const held = account.records.some((record) => isFigure(record.expected_kwh));
  return (
    <section class="panel">
      <h2>By {account.by}</h2>
      <Scroll>
        <table class="energy-records">
          <caption>EnPI in {measure("energy_kwh_t", units).unit}, moisture in % vol, product in {measure("mass_t", units).unit}, energy in kWh, cost in {account.factors.currency ?? "the plant's currency"}, CO₂ and water in {measure("mass_kg", units).unit}</caption>
          <thead>
            <tr>
              <th scope="col">{NAMES[account.by]}</th>{account.by !== "product" && <th scope="col">Product</th>}
              <th scope="col" class="figure">Good</th><th scope="col" class="figure">EnPI</th><th scope="col" class="figure">Zone 3</th><th scope="col" class="figure">Peak</th>
              <th scope="col" class="figure">Energy</th><th scope="col" class="figure">Idle</th><th scope="col" class="figure">Cost</th><th scope="col" class="figure">CO₂</th>
              <th scope="col" class="figure">Excess water</th><th scope="col" class="figure">Its cost</th>
              {held && <><th scope="col" class="figure">Expected</th><th scope="col" class="figure">Saving</th><th scope="col" class="figure">CUSUM</th></>}
              <th scope="col" class="figure">Known</th>
            </tr>
          </thead>
          <tbody>{account.records.map((record) => <Row key={record.period} record={record} account={account} held={held} />)}</tbody>
        </table>
      </Scroll>
    </section>
  );
}

function Row({ record, account, held }: { record: EnergyRecord; account: EnergyAccount; held: boolean }) {
  const { model, units } = useView();
  return (
    <tr>
      <th scope="row" class="nowrap">{account.by === "product" ? productName(model, record.period) : record.period}</th>
      {account.by !== "product" && <td class="nowrap">{record.products.replaceAll("+", ", ")}</td>}
      <td class="figure">{figure(tonnes(record.good_kg), "mass_t", units)}</td>
      <td class="figure"><strong>{figure(record.kwh_per_t, "energy_kwh_t", units)}</strong></td>
      <td class="figure"><strong>{decimals(record.zone3_moisture_pct, 1)}</strong></td>
      <td class="figure">{decimals(record.peak_moisture_pct, 1)}</td>
      <td class="figure">{count(record.energy_kwh)}</td>
      <td class="figure">{count(record.idle_kwh)}</td>
      <td class="figure">{money(record.cost, null)}</td>
      <td class="figure">{figure(record.co2_kg, "mass_kg", units)}</td>
      <td class="figure">{figure(record.excess_moisture_kg, "mass_kg", units)}</td>
      <td class="figure">{money(record.excess_moisture_cost, null, 2)}</td>
      {held && (
        <>
          <td class="figure">{count(record.expected_kwh)}</td>
          <td class="figure">{signed(record.saving_kwh, 0)}</td>
          <td class="figure">{signed(record.cusum_kwh, 0)}</td>
        </>
      )}
      <td class="figure">{decimals(record.coverage_pct, 0)} %</td>
    </tr>
  );
}
