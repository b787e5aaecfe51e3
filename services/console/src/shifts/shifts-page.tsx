import type { Shift } from "../api/records";
import { Older } from "../parts/older";
import { Awaited, PageFrame } from "../parts/page";
import { useList } from "../state/list";
import { link } from "../state/route";
import { useView } from "../state/view";
import { lineName } from "../words/alert";
import { Scroll } from "../parts/scroll";

/** Every shift that is kept: days and shifts downwards, ovens across. */
export function ShiftsPage() {
  const answer = useList<Shift>("/shifts");
  return (
    <PageFrame title="Shifts">
      <section class="panel">
        <p class="quiet">Open a shift to see its profile table, and to hold it against its normal or another shift.</p>
        <Awaited answer={answer} missing="This service does not list its shifts.">
          {(page) => page.items.length === 0 ? <p class="empty">No shift is kept yet.</p> : <Calendar shifts={page.items} />}
        </Awaited>
        <Older more={answer.more} />
      </section>
    </PageFrame>
  );
}

function Calendar({ shifts }: { shifts: Shift[] }) {
  const { status, clock } = useView();
  const lines = [...new Set(shifts.map((shift) => shift.line))].sort();
  const rows = [...new Set(shifts.map((shift) => `${shift.date} ${shift.shift}`))];
  return (
    <Scroll>
      <table>
        <thead>
          <tr><th scope="col">Shift</th><th scope="col">Hours</th>{lines.map((line) => <th key={line} scope="col">{lineName(status, line)}</th>)}</tr>
        </thead>
        <tbody>
          {rows.map((row) => {
            const own = shifts.filter((shift) => `${shift.date} ${shift.shift}` === row);
            const [first] = own;
            return first && (
              <tr key={row}>
                <th scope="row" class="nowrap">{clock.date(first.starts)}, {first.shift}</th>
                <td class="nowrap quiet">{clock.time(first.starts)} to {clock.time(first.ends)}</td>
                {lines.map((line) => <td key={line}><ShiftLinks shift={own.find((shift) => shift.line === line)} /></td>)}
              </tr>
            );
          })}
        </tbody>
      </table>
    </Scroll>
  );
}

function ShiftLinks({ shift }: { shift: Shift | undefined }) {
  const { status } = useView();
  if (shift === undefined) return <span class="quiet">–</span>;
  const of = <span class="spoken"> of {lineName(status, shift.line)}, {shift.date} {shift.shift}</span>;
  return (
    <span class="links">
      <a href={link(["shifts", shift.line, shift.date, shift.shift])}>Table{of}</a>
      {shift.over ? <a href={sheet(shift)} target="_blank" rel="noreferrer">Sheet{of}</a> : <span class="quiet">still running</span>}
    </span>
  );
}

/** The printable sheet of a shift: a page of its own. */
export function sheet(shift: { line: string; date: string; shift: string }): string {
  return `/shifts/${[shift.line, shift.date, shift.shift].map(encodeURIComponent).join("/")}`;
}
