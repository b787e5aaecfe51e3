import type { ShiftRow } from "../api/records";
import { decimals, NO_FIGURE, range, signed } from "../figures/number";
import { figure, measure, withUnit } from "../figures/units";
import { ProfilePicture } from "../oven/profile-picture";
import { link } from "../state/route";
import { useView } from "../state/view";
import { asProfile, type Beside } from "./compare";
import { Scroll } from "../parts/scroll";

/** One product of a shift: how it ran, and its zones beside what they are held against. */
export function ProductTable({ line, product, rows, beside }: {
  line: string;
  product: string;
  rows: ShiftRow[];
  beside: { words: string | null; zones: Beside[] };
}) {
  const { status, model, units } = useView();
  const first = rows[0];
  const place = status.lines.find((one) => one.id === line);
  const name = model?.products.find((one) => one.code === product)?.name;
  if (first === undefined) return null;
  return (
    <section class="panel">
      <h2>{name ?? product} {name && <span class="quiet">{product}</span>}</h2>
      <Facts row={first} />
      {beside.words === null && <p class="quiet">No normal holds for this product.</p>}
      {beside.words !== null && beside.zones.length === 0 && <p class="quiet">There is nothing of {beside.words} to hold it against at this product and speed.</p>}
      {place && <ProfilePicture title={`Mean moisture by volume${beside.zones.length > 0 ? `, against ${beside.words}` : ""}`} quantity="moisture_pct" profile={asProfile(line, rows, beside.zones)} line={place} fromZero />}
      <Scroll>
        <table>
          <caption>Moisture in % vol, temperatures in {measure("air_temperature_c", units).unit}, humidity ratio in {measure("humidity_ratio", units).unit}, damper in %</caption>
          <thead>
            <tr>
              <th scope="col">Zone</th><th scope="col" class="figure">Mean</th><th scope="col" class="figure">5 to 95 of 100</th>
              <th scope="col" class="figure">Beside it</th><th scope="col" class="figure">Difference</th>
              <th scope="col" class="figure">Dew point</th><th scope="col" class="figure">Humidity ratio</th>
              <th scope="col" class="figure">Air</th><th scope="col" class="figure">Damper</th><th scope="col" class="figure">Covered</th>
            </tr>
          </thead>
          <tbody>{rows.map((row) => <ZoneRow key={row.zone} row={row} held={beside.zones.find((one) => one.zone === row.zone)} />)}</tbody>
        </table>
      </Scroll>
    </section>
  );
}

function ZoneRow({ row, held }: { row: ShiftRow; held: Beside | undefined }) {
  const { units } = useView();
  const mean = row.moisture_pct_mean;
  const apart = held?.usual !== null && held?.usual !== undefined && mean !== null && mean !== undefined ? mean - held.usual : null;
  return (
    <tr>
      <th scope="row">{row.zone}</th>
      <td class="figure">{decimals(mean, 1)}</td>
      <td class="figure">{range(row.moisture_pct_p05, row.moisture_pct_p95, 1)}</td>
      <td class="figure">{decimals(held?.usual, 1)}</td>
      <td class="figure">{apart === null ? NO_FIGURE : signed(apart, 1)}</td>
      <td class="figure">{figure(row.dew_point_c_mean, "dew_point_c", units)}</td>
      <td class="figure">{figure(row.humidity_ratio_mean, "humidity_ratio", units)}</td>
      <td class="figure">{figure(row.air_temperature_c_mean, "air_temperature_c", units)}</td>
      <td class="figure">{decimals(row.exhaust_damper_pct_mean, 0)}</td>
      <td class="figure">{decimals(row.coverage_pct, 0)} %</td>
    </tr>
  );
}

function Facts({ row }: { row: ShiftRow }) {
  const { units } = useView();
  return (
    <dl class="facts shift-facts">
      <div><dt>Baked for</dt><dd>{decimals(row.running_min / 60, 1)} h</dd></div>
      <div><dt>Band speed, mean</dt><dd>{withUnit(row.band_speed_m_min_mean, "band_speed_m_min", units)}</dd></div>
      <div><dt>Highest</dt><dd>{withUnit(row.band_speed_m_min_max, "band_speed_m_min", units)}</dd></div>
      <div><dt>Bake time</dt><dd>{withUnit(row.bake_time_min_mean, "minutes", units)}</dd></div>
      <div><dt>Peak in zone</dt><dd>{row.peak_zone ?? NO_FIGURE}</dd></div>
      <div><dt>Drop zone 1 to 2</dt><dd>{decimals(row.drop_1_to_2_pct, 0)} %</dd></div>
      <div><dt>Zone 3 of the peak</dt><dd>{decimals(row.zone3_to_peak_pct, 0)} %</dd></div>
      <div><dt>Departure</dt><dd>{decimals(row.departure, 2)}</dd></div>
      <div><dt>Alerts</dt><dd>{row.alerts}</dd></div>
      <div><dt>Normal</dt><dd>{row.normal_id ? <a href={link(["normals", row.normal_id])}>{row.normal_id}</a> : "none"}</dd></div>
    </dl>
  );
}
