import { replaceQuery, type Route } from "../state/route";
import { useView } from "../state/view";

/** Shows one oven, or all. */
export function LineFilter({ route, value }: { route: Route; value: string }) {
  const { status } = useView();
  return (
    <label class="filter">
      <span>Oven</span>
      <select value={value} onChange={(event) => replaceQuery(route, { line: event.currentTarget.value })}>
        <option value="">all</option>
        {status.lines.map((line) => <option key={line.id} value={line.id}>{line.name}</option>)}
      </select>
    </label>
  );
}
