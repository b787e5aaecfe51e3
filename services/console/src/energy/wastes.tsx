import type { EnergyAccount } from "../api/energy";
import { count, decimals, isFigure, money } from "../figures/number";
import { withUnit } from "../figures/units";
import { Scroll } from "../parts/scroll";
import { useView } from "../state/view";

/** Water that need not have been there, and what it cost. */
export function Wastes({ account }: { account: EnergyAccount }) {
  const { units } = useView();
  const { whole, factors } = account;
  const wastes = [
    {
      name: "Excess moisture", kg: whole.excess_moisture_kg, kwh: whole.excess_moisture_kwh, cost: whole.excess_moisture_cost,
      words: `${isFigure(whole.excess_moisture_zone) ? `Most of it in zone ${whole.excess_moisture_zone}. ` : ""}Water that left zone 3 and later above the approved normal at the same band speed. An estimate from the water balance.`,
    },
    {
      name: "Over-steaming", kg: whole.over_steaming_kg, kwh: whole.over_steaming_kwh, cost: whole.over_steaming_cost,
      words: `Steam that product was under for longer than ${decimals(factors.useful_steam_s, 0)} s, and all steam without product. An estimate: boiler fuel, and the heat that carries it out again.`,
    },
  ].filter(({ kg }) => isFigure(kg));
  return (
    <section class="panel">
      <h2>What moisture that need not be there costs</h2>
      {wastes.length === 0 ? <p class="quiet">It cannot be told: an approved normal, steam flow and humidity in every zone are needed.</p> : (
        <Scroll>
          <table>
            <thead><tr><th scope="col">Of what</th><th scope="col" class="figure">Water</th><th scope="col" class="figure">Energy</th><th scope="col" class="figure">Cost at the price of gas</th><th scope="col">Meaning</th></tr></thead>
            <tbody>
              {wastes.map((waste) => (
                <tr key={waste.name}>
                  <th scope="row">{waste.name}</th>
                  <td class="figure">{withUnit(waste.kg, "mass_kg", units)}</td>
                  <td class="figure">{count(waste.kwh)} kWh</td>
                  <td class="figure">{money(waste.cost, factors.currency)}</td>
                  <td class="quiet">{waste.words}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
      <p class="caution"><strong>Caution.</strong> {account.caution}</p>
    </section>
  );
}
