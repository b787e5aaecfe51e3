import type { LineStatus } from "../api/types";
import { withUnit } from "../figures/units";
import { Mark } from "../parts/mark";
import { PageFrame } from "../parts/page";
import { link, type Route } from "../state/route";
import { useView } from "../state/view";
import { calling, isUnanswered, sentence, trouble } from "../words/alert";
import { loadWords, silentFor, stateWords } from "../words/line";
import { stretch } from "../figures/clock";
import { Hours } from "./hours";
import { ProfileSection } from "./profile-section";

/** One oven: how it stands, its profile against its normal now, and its last hours. */
export function OvenPage({ id, route }: { id: string; route: Route }) {
  const { status } = useView();
  const line = status.lines.find((one) => one.id === id);
  if (line === undefined) {
    return <PageFrame title="No such oven"><p class="empty">No oven here is called {id}. <a href={link([])}>All ovens</a></p></PageFrame>;
  }
  return (
    <PageFrame title={line.name} aside={<Neighbours id={id} />}>
      <Standing line={line} />
      <ProfileSection line={line} />
      <Hours line={line} route={route} />
    </PageFrame>
  );
}

function Neighbours({ id }: { id: string }) {
  const { status } = useView();
  return (
    <nav aria-label="Ovens">
      <ul class="neighbours">
        {status.lines.map((line) => (
          <li key={line.id}><a href={link(["ovens", line.id])} aria-current={line.id === id ? "true" : undefined}>{line.name}</a></li>
        ))}
      </ul>
    </nav>
  );
}

function Standing({ line }: { line: LineStatus }) {
  const { status, units, clock, now } = useView();
  const calls = calling(status.alerts).filter((alert) => alert.line === line.id);
  const silent = silentFor(line, now);
  const change = line.band_speed_changed;
  return (
    <div class="panel oven-standing live-figures">
      <dl class="facts">
        <div><dt>Product</dt><dd>{line.product_name ?? line.product ?? "none"} {line.product_name && <span class="quiet">{line.product}</span>}</dd></div>
        <div><dt>State</dt><dd>{stateWords(line.state)}</dd></div>
        <div><dt>Load</dt><dd>{loadWords(line)}{line.load_since && <span class="quiet"> since {clock.moment(line.load_since, now)}</span>}</dd></div>
        <div>
          <dt>Band speed</dt>
          <dd>
            {withUnit(line.band_speed_m_min, "band_speed_m_min", units)}
            {change && <span class="quiet"> from {withUnit(change.from_m_min, "band_speed_m_min", units)} at {clock.moment(change.at, now)}</span>}
          </dd>
        </div>
        <div>
          <dt>Normal</dt>
          <dd>{line.normal ? <a href={link(["normals", line.normal])}>{line.normal}</a> : "none holds"}</dd>
        </div>
        {silent !== null && <div><dt>Silent</dt><dd><strong>No reading for {stretch(silent * 1000)}</strong></dd></div>}
      </dl>
      {calls.length > 0 && (
        <ul class="oven-calls">
          {calls.map((alert) => (
            <li key={alert.id} class={isUnanswered(alert) ? alert.priority : "answered"}>
              <Mark sign={alert.priority} answered={!isUnanswered(alert)} />
              <a href={link(["alerts", alert.id])}>{sentence(trouble(alert))}</a> <span>{alert.message}</span>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
