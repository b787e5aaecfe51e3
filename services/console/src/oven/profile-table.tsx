import type { Figure, Profile } from "../api/line";
import { NO_FIGURE, range, signed } from "../figures/number";
import { beyond, sideOf } from "../figures/side";
import { convert, figure, measure, type HumidityQuantity, type Quantity } from "../figures/units";
import type { UnitSystem } from "../state/preferences";
import { useView } from "../state/view";
import { Scroll } from "../parts/scroll";

/** The same figures as the pictures, to be read and heard. */
export function ProfileTable({ profile, humidity }: { profile: Profile; humidity: { quantity: HumidityQuantity; name: string } }) {
  const { units } = useView();
  const { quantity } = humidity;
  return (
    <Scroll>
      <table class="profile-table">
        <caption>{humidity.name} in {measure(quantity, units).unit}, air temperature in {measure("air_temperature_c", units).unit}, exhaust damper in %</caption>
        <thead>
          <tr>
            <th scope="col">Zone</th>
            <th scope="col" class="figure">{humidity.name}</th><th scope="col" class="figure">Expected</th><th scope="col" class="figure">Band</th><th scope="col" class="figure">Beyond it</th>
            <th scope="col" class="figure">Air</th><th scope="col" class="figure">Expected</th><th scope="col" class="figure">Band</th>
            <th scope="col" class="figure">Damper</th>
          </tr>
        </thead>
        <tbody>
          {profile.zones.map((zone) => (
            <tr key={zone.zone} class={sideOf(zone[quantity].observed, zone[quantity].low, zone[quantity].high)}>
              <th scope="row">{zone.zone}</th>
              <Cells figure={zone[quantity]} quantity={quantity} units={units} />
              <td class="figure">{beyondWords(zone[quantity], quantity, units)}</td>
              <Cells figure={zone.air_temperature_c} quantity="air_temperature_c" units={units} />
              <td class="figure">{figure(zone.exhaust_damper_pct, "exhaust_damper_pct", units)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function Cells({ figure: told, quantity, units }: { figure: Figure; quantity: Quantity; units: UnitSystem }) {
  const { places } = measure(quantity, units);
  return (
    <>
      <td class="figure">{figure(told.observed, quantity, units)}</td>
      <td class="figure">{figure(told.expected, quantity, units)}</td>
      <td class="figure">{range(convert(told.low, quantity, units), convert(told.high, quantity, units), places)}</td>
    </>
  );
}

function beyondWords(told: Figure, quantity: Quantity, units: UnitSystem): string {
  const [value, low, high] = [told.observed, told.low, told.high].map((one) => convert(one, quantity, units));
  const side = sideOf(value, low, high);
  if (side === "unjudged") return NO_FIGURE;
  return side === "within" ? "within" : `${side === "above" ? "▲" : "▼"} ${signed(beyond(value, low, high), measure(quantity, units).places)}`;
}
