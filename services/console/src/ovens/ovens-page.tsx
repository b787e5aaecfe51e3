import { useEffect } from "preact/hooks";
import { useView } from "../state/view";
import { calling } from "../words/alert";
import { Calls } from "./calls";
import { OvenCard } from "./oven-card";

/** All ovens at a glance. An oven keeps its place whatever happens: people find it by where it stands. */
export function OvensPage() {
  const { status } = useView();
  const calls = calling(status.alerts);
  useEffect(() => {
    document.title = calls.length === 0 ? `${status.name} · ovens` : `(${calls.length}) ${status.name} · ovens`;
  }, [calls.length, status.name]);
  const many = status.lines.length;
  return (
    <div class="page">
      <h1 class="spoken">Ovens</h1>
      {status.problems.length > 0 && (
        <div class="notice" role="status">
          <strong>The service does not do its whole work.</strong>
          <ul>{status.problems.map((problem) => <li key={problem}>{problem}</li>)}</ul>
        </div>
      )}
      <Calls calls={calls} />
      <ul class={`ovens ${many > 6 ? "many" : many > 3 ? "some" : "few"}`}>
        {status.lines.map((line) => (
          <OvenCard key={line.id} line={line} calls={calls.filter((alert) => alert.line === line.id)} />
        ))}
      </ul>
      <p class="legend">
        <span class="legend-ribbon" aria-hidden="true" /> Ribbon: the normal's band at this speed. Line: moisture now, dough travels to the right. Figures in % vol.
      </p>
    </div>
  );
}
