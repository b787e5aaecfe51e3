import type { TransitComparison } from "../api/transit";
import { decimals, signed } from "../figures/number";
import { convert, measure, type Quantity } from "../figures/units";
import { Scroll } from "../parts/scroll";
import { useView } from "../state/view";
import { sentence } from "../words/alert";

// How a figure and its change are written, by the unit in which the service tells them.
const UNITS: Record<string, { value: Quantity; change: Quantity }> = {
  "degC": { value: "air_temperature_c", change: "temperature_step_c" },
  "m": { value: "length_m", change: "length_m" },
};

/** What has changed from one run to another. */
export function Comparison({ comparison }: { comparison: TransitComparison }) {
  const { clock, now } = useView();
  const { before, after, alike, rows } = comparison;
  return (
    <>
      {!alike && <p class="notice">These runs are of different ovens or products: a difference is no change of one oven.</p>}
      <Scroll>
        <table>
          <thead>
            <tr>
              <th scope="col">Figure</th><th scope="col" class="figure">{clock.moment(before.entered, now)}</th>
              <th scope="col" class="figure">{clock.moment(after.entered, now)}</th><th scope="col" class="figure">Change</th>
            </tr>
          </thead>
          <tbody>{rows.map((row) => <Row key={row.what + row.unit} row={row} />)}</tbody>
        </table>
      </Scroll>
    </>
  );
}

function Row({ row }: { row: TransitComparison["rows"][number] }) {
  const { units } = useView();
  const known = UNITS[row.unit];
  const unit = known === undefined ? row.unit : measure(known.value, units).unit;
  const value = (figure: number | null | undefined) => decimals(known === undefined ? figure : convert(figure, known.value, units), 1);
  const change = known === undefined ? row.change : convert(row.change, known.change, units);
  return (
    <tr>
      <th scope="row">{sentence(row.what)}, {unit}</th>
      <td class="figure">{value(row.before)}</td>
      <td class="figure">{value(row.after)}</td>
      <td class="figure"><strong>{signed(change, 1)}</strong></td>
    </tr>
  );
}
