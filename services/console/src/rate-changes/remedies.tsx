import type { Remedy, Review, ZoneAlone } from "../api/rate-change";
import { decimals, money, NO_FIGURE, signed } from "../figures/number";
import { withUnit } from "../figures/units";
import { Scroll } from "../parts/scroll";
import { useView } from "../state/view";
import { sentence } from "../words/alert";
import { chance, remedyName, settingWords } from "../words/rate-change";

/** Less output lost than this is none, t/h. */
const NO_LOSS_T_H = 0.005;

const GAIN = "Net gain a year against the usual speed";

/** What can be done about it, best first, each with what it takes and what to mind. */
export function Remedies({ review }: { review: Review }) {
  return (
    <section class="panel">
      <h2>What can be done, best first</h2>
      {review.remedies.length === 0 ? <p class="quiet">Nothing needs to be done at this speed.</p> : (
        <ol class="remedies">
          {review.remedies.map((remedy) => <RemedyItem key={remedy.kind} remedy={remedy} review={review} />)}
        </ol>
      )}
    </section>
  );
}

function RemedyItem({ remedy, review }: { remedy: Remedy; review: Review }) {
  const { units } = useView();
  const { energy, zones } = remedy.profile;
  const { currency } = review;
  const gain = amountOr(money(remedy.net_gain_per_year, currency));
  const loses = remedy.lost_t_h > NO_LOSS_T_H;
  const costs = [
    { name: "Energy", amount: money(remedy.profile.energy.cost_per_h, currency, 2), per: " an hour" },
    ...(loses ? [{ name: "Lost margin", amount: money(remedy.lost_margin_per_h, currency, 2), per: " an hour" }] : []),
    ...(remedy.capital === 0 ? [] : [
      { name: "Capital", amount: money(remedy.capital, currency), per: "" },
      { name: "Written off", amount: money(remedy.capital_per_year, currency), per: " a year" },
    ]),
  ];
  return (
    <li class={remedy.suffices ? "" : "short"}>
      <h3>{remedyName(remedy.kind)} <span class="quiet">{remedy.suffices ? "suffices" : "does not suffice alone"}</span></h3>
      {remedy.suffices && <p class="remedy-gain"><span class="quiet">{GAIN}</span><strong>{gain}</strong></p>}
      <p>{sentence(remedy.reason)}.</p>
      <dl class="facts">
        <div>
          <dt>Set</dt>
          {remedy.settings.length === 0 ? <dd>nothing has to be moved</dd> : remedy.settings.map((setting) => <dd key={settingWords(setting, units)}>{settingWords(setting, units)}</dd>)}
        </div>
        <div>
          <dt>Zones then hold, % vol</dt>
          <dd>{zones.map((zone) => decimals(zone.moisture_pct, 1)).join(", ")}</dd>
          <dd>chance of carryover {chance(remedy.profile.carryover_chance_pct)}</dd>
        </div>
        <div>
          <dt>Takes</dt>
          <dd>{decimals(energy.bought_kwh_h, 0)} kWh/h, {withUnit(energy.bought_kwh_t, "energy_kwh_t", units)}</dd>
          <dd>{signed(remedy.further_kwh_h, 0)} kWh/h against untouched</dd>
        </div>
        <div>
          <dt>Gives</dt>
          <dd>{withUnit(energy.good_t_h, "output_t_h", units)}</dd>
          {loses && <dd>{withUnit(remedy.lost_t_h, "output_t_h", units)} less than asked for</dd>}
        </div>
        {!remedy.suffices && <div><dt>{GAIN}</dt><dd>{gain}</dd></div>}
        {costs.map(({ name, amount, per }) => <div key={name}><dt>{name}</dt><dd>{amountOr(amount, per)}</dd></div>)}
      </dl>
      <ZonesAlone alone={remedy.zones_alone ?? []} />
      <p class="remedy-mind"><strong>Mind.</strong> {remedy.caution}</p>
    </li>
  );
}

/** Whether one zone would do: fewer hands, and a smaller change to look after. */
function ZonesAlone({ alone }: { alone: ZoneAlone[] }) {
  const { units } = useView();
  if (alone.length === 0) return null;
  return (
    <details class="zones-alone">
      <summary>One zone alone</summary>
      <Scroll>
        <table>
          <thead>
            <tr>
              <th scope="col">Set</th><th scope="col">Zones then hold, % vol</th><th scope="col">Chance of carryover</th>
              <th scope="col" class="figure">Against untouched, kWh/h</th><th scope="col">Verdict</th>
            </tr>
          </thead>
          <tbody>
            {alone.map((one) => (
              <tr key={one.setting.zone}>
                <th scope="row">{settingWords(one.setting, units)}</th>
                <td>{one.moisture_pct.map((moisture) => decimals(moisture, 1)).join(", ")}</td>
                <td>{chance(one.carryover_chance_pct)}</td>
                <td class="figure">{signed(one.further_kwh_h, 0)}</td>
                <td>{one.suffices ? "suffices" : "does not suffice"}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </details>
  );
}

function amountOr(amount: string, per = ""): string {
  return amount === NO_FIGURE ? "not configured" : amount + per;
}
