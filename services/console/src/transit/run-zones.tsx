import type { TransitRun, TransitZone } from "../api/transit";
import type { Maybe } from "../api/types";
import { isFigure, NO_FIGURE, range, signed } from "../figures/number";
import { beyond, sideOf } from "../figures/side";
import { convert, figure, measure } from "../figures/units";
import { Scroll } from "../parts/scroll";
import { useView } from "../state/view";

/** The zones as figures: logger, fixed sensors with their offset, and the normal. */
export function RunZones({ run }: { run: TransitRun }) {
  const { units } = useView();
  return (
    <section class="panel">
      <h2>Zone by zone</h2>
      <Scroll>
        <table>
          <caption>Moisture in % vol, air temperature in {measure("air_temperature_c", units).unit}</caption>
          <thead>
            <tr>
              <th scope="col">Zone</th><th scope="col" class="figure">{measure("length_m", units).unit}</th>
              <th scope="col" class="figure">Logger</th><th scope="col" class="figure">Fixed sensor</th><th scope="col" class="figure">Offset</th>
              <th scope="col" class="figure">Normal's band</th><th scope="col">Against it</th>
              <th scope="col" class="figure">Air, logger</th><th scope="col" class="figure">Fixed sensor</th><th scope="col" class="figure">Offset</th>
            </tr>
          </thead>
          <tbody>{run.zones.map((zone, index) => <Row key={zone.begins_m} zone={zone} number={index + 1} />)}</tbody>
        </table>
      </Scroll>
      <p class="quiet">Offset: fixed sensor less logger, while the logger was in the middle third of the zone.</p>
      {run.missing.length > 0 && <ul class="rows">{run.missing.map((words) => <li key={words} class="quiet">Missing: {words}.</li>)}</ul>}
      <p class="caution">
        <strong>Caution.</strong> Advisory only: steam, exhaust and burner settings belong to the oven maker's limits, local codes and the plant's licensed people.
        The wetted surface is computed, and says nothing of the core.
      </p>
    </section>
  );
}

function Row({ zone, number }: { zone: TransitZone; number: number }) {
  const { units } = useView();
  const metres = (value: number) => convert(value, "length_m", units);
  const less = (sensor: Maybe<number>, logger: Maybe<number>) => (isFigure(sensor) && isFigure(logger) ? sensor - logger : null);
  const side = sideOf(zone.moisture_pct, zone.normal_low_pct, zone.normal_high_pct);
  const apart = signed(beyond(zone.moisture_pct, zone.normal_low_pct, zone.normal_high_pct), 1);
  return (
    <tr class={side === "above" || side === "below" ? "apart" : ""}>
      <th scope="row">{number}</th>
      <td class="figure">{range(metres(zone.begins_m), metres(zone.ends_m), 1)}</td>
      <td class="figure">{figure(zone.moisture_pct, "moisture_pct", units)}</td>
      <td class="figure">{figure(zone.sensor_moisture_pct, "moisture_pct", units)}</td>
      <td class="figure">{signed(less(zone.sensor_moisture_pct, zone.moisture_pct), 1)}</td>
      <td class="figure">{range(zone.normal_low_pct, zone.normal_high_pct, 1)}</td>
      <td>{side === "unjudged" ? NO_FIGURE : side === "within" ? "within" : `${side === "above" ? "▲" : "▼"} ${apart}`}</td>
      <td class="figure">{figure(zone.temperature_c, "air_temperature_c", units)}</td>
      <td class="figure">{figure(zone.sensor_temperature_c, "air_temperature_c", units)}</td>
      <td class="figure">{signed(convert(less(zone.sensor_temperature_c, zone.temperature_c), "temperature_step_c", units), 0)}</td>
    </tr>
  );
}
