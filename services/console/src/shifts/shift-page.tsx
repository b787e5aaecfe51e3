import type { Normal, Shift, ShiftTable } from "../api/records";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { useList, useWholeList } from "../state/list";
import { link, replaceQuery, type Route } from "../state/route";
import { useView } from "../state/view";
import { lineName } from "../words/alert";
import { byProduct, normalAt, shiftBeside } from "./compare";
import { ProductTable } from "./product-table";
import { sheet } from "./shifts-page";

/** The profile table of a shift, product by product, held against its normal or another shift of the oven. */
export function ShiftPage({ route }: { route: Route }) {
  const { status, clock } = useView();
  const [, line = "", date = "", shift = ""] = route.parts;
  const against = route.query.get("against") ?? "";
  const path = (parts: string[]) => `/shifts/${parts.map(encodeURIComponent).join("/")}`;
  const answer = useAnswer<ShiftTable>(path([line, date, shift]));
  const other = useAnswer<ShiftTable>(against === "" ? null : path([line, ...against.split(" ")]));
  const normals = useWholeList<Normal>("/normals");

  return (
    <PageFrame title={`${lineName(status, line)}: ${shift} shift of ${date}`}
      aside={<p class="links"><a href={sheet({ line, date, shift })} target="_blank" rel="noreferrer">Printable sheet</a><a href={link(["shifts"])}>All shifts</a></p>}>
      <Against route={route} line={line} own={`${date} ${shift}`} value={against} />
      <Awaited answer={answer} missing="There is no such shift.">
        {(table) => table.rows.length === 0 ? <p class="empty">Nothing was baked in this shift.</p> : (
          <>
            {byProduct(table.rows).map(({ product, rows }) => {
              const normal = normals.value?.items.find((one) => one.id === rows[0]?.normal_id);
              const beside = against === ""
                ? { words: normal?.id ?? null, zones: normal === undefined ? [] : normalAt(normal, rows[0]?.band_speed_m_min_mean) }
                : { words: `${against.split(" ").reverse().join(" shift of ")}`, zones: shiftBeside(other.value?.rows.filter((row) => row.product === product) ?? []) };
              return <ProductTable key={product} line={line} product={product} rows={rows} beside={beside} />;
            })}
            <p class="quiet">Shift from {clock.time(table.shift.starts)} to {clock.time(table.shift.ends)}{!table.shift.over && ", still running"}.</p>
          </>
        )}
      </Awaited>
    </PageFrame>
  );
}

function Against({ route, line, own, value }: { route: Route; line: string; own: string; value: string }) {
  const shifts = useList<Shift>("/shifts", { line });
  const { clock } = useView();
  const others = (shifts.value?.items ?? []).filter((shift) => shift.line === line && `${shift.date} ${shift.shift}` !== own);
  return (
    <label class="filter against">
      <span>Held against</span>
      <select value={value} onChange={(event) => replaceQuery(route, { against: event.currentTarget.value })}>
        <option value="">its normal</option>
        {others.map((shift) => (
          <option key={shift.date + shift.shift} value={`${shift.date} ${shift.shift}`}>{clock.date(shift.starts)}, {shift.shift}</option>
        ))}
      </select>
    </label>
  );
}
