import type { AlertRates } from "../api/records";
import { decimals } from "../figures/number";
import { Awaited } from "../parts/page";
import { useWholeList } from "../state/list";
import { useView } from "../state/view";
import { lineName } from "../words/alert";
import { Scroll } from "../parts/scroll";

/** How often alerts call, by line and shift, beside the targets of ISA-18.2. */
export function Rates({ line }: { line: string }) {
  const answer = useWholeList<AlertRates>("/alerts/rates");
  return (
    <section class="panel">
      <h2>How often alerts call, against the targets of ISA-18.2</h2>
      <Awaited answer={answer} missing="This service does not count its alerts.">
        {(page) => <RatesTable rates={page.items.filter((row) => line === "" || row.line === line)} />}
      </Awaited>
    </section>
  );
}

function RatesTable({ rates }: { rates: AlertRates[] }) {
  const { status } = useView();
  const called = rates.filter((row) => row.calls > 0);
  if (called.length === 0) return <p class="quiet">No alert called in the last seven days: {rates.length} shifts, all within the targets.</p>;
  return (
    <Scroll>
      <table>
        <caption>{called.length} of {rates.length} shifts of the last seven days had a call.</caption>
        <thead>
          <tr>
            <th scope="col">Shift</th><th scope="col">Oven</th><th scope="col" class="figure">Calls</th><th scope="col" class="figure">High</th>
            <th scope="col" class="figure">An hour</th><th scope="col" class="figure">Most in 10 min</th>
            <th scope="col" class="figure">In a flood</th><th scope="col" class="figure">Stale</th><th scope="col">Targets</th>
          </tr>
        </thead>
        <tbody>
          {called.map((row) => (
            <tr key={`${row.line} ${row.date} ${row.shift}`}>
              <th scope="row" class="nowrap">{row.date} {row.shift}</th>
              <td>{lineName(status, row.line)}</td>
              <td class="figure">{row.calls}</td>
              <td class="figure">{row.high}</td>
              <td class="figure">{decimals(row.per_hour, 2)}</td>
              <td class="figure">{row.most_in_ten_minutes}</td>
              <td class="figure">{decimals(row.flood_share * 100, 0)} %</td>
              <td class="figure">{row.stale}</td>
              <td>{row.missed.length === 0 ? "within" : <strong>missed: {row.missed.join(", ")}</strong>}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}
