import { useState } from "preact/hooks";
import type { History } from "../api/line";
import { decimals } from "../figures/number";
import { useView } from "../state/view";
import { stateWords } from "../words/line";
import type { Panel } from "./columns";
import { Scroll } from "../parts/scroll";

/** So many rows are enough to read; the file holds them all. */
const MOST = 60;

/** The figures of the charts as a table, thinned out where it would be too long to read. */
export function HoursTable({ history, panels, first, last }: { history: History; panels: Panel[]; first: number; last: number }) {
  const [open, setOpen] = useState(false);
  return (
    <details class="hours-table" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>The same figures as a table</summary>
      {open && <Rows history={history} panels={panels} first={first} last={last} />}
    </details>
  );
}

function Rows({ history, panels, first, last }: { history: History; panels: Panel[]; first: number; last: number }) {
  const { clock } = useView();
  const every = Math.max(1, Math.ceil((last - first) / MOST));
  const rows = Array.from({ length: Math.ceil((last - first) / every) }, (_, index) => first + index * every);
  return (
    <Scroll>
      <table>
        <caption>{every === 1 ? "Every step" : `Every ${every}th step; the CSV holds all of them`}</caption>
        <thead>
          <tr>
            <th rowSpan={2} scope="col">Time</th><th rowSpan={2} scope="col">State</th>
            {panels.map((panel) => <th key={panel.title} scope="colgroup" colSpan={panel.columns.length} class="figure">{panel.title}, {panel.unit}</th>)}
          </tr>
          <tr>{panels.flatMap((panel) => panel.columns.map((column) => <th key={panel.title + column.label} scope="col" class="figure">{column.short || "line"}</th>))}</tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={history.time[row]}>
              <th scope="row">{clock.time(history.time[row])}</th>
              <td>{stateWords(history.state[row] ?? "")}</td>
              {panels.flatMap((panel) => panel.columns.map((column) => <td key={panel.title + column.label} class="figure">{decimals(column.values[row], panel.places)}</td>))}
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}
