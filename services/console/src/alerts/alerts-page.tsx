import { useEffect } from "preact/hooks";
import type { Alert, Suppression } from "../api/types";
import { LineFilter } from "../parts/line-filter";
import { Older } from "../parts/older";
import { Awaited, PageFrame } from "../parts/page";
import { useList } from "../state/list";
import type { Route } from "../state/route";
import { useView } from "../state/view";
import { calling, isQuiet, isUnanswered, kindName, lineName, stands } from "../words/alert";
import { AlertTable } from "./alert-table";
import { Rates } from "./rates";

/** Every alert: those that call, those that are kept quiet, those that are over. */
export function AlertsPage({ route }: { route: Route }) {
  const { status } = useView();
  const line = route.query.get("line") ?? "";
  const answer = useList<Alert>("/alerts", { line, limit: 200 });
  // The list is asked for again when the live picture says that something has changed.
  const changes = status.alerts.map((alert) => alert.id + alert.state + (alert.comments?.length ?? 0)).join();
  useEffect(answer.ask, [changes]);

  return (
    <PageFrame title="Alerts" aside={<LineFilter route={route} value={line} />}>
      <Awaited answer={answer} missing="This service does not list its alerts.">
        {(page) => {
          const quiet = page.items.filter((alert) => stands(alert) && isQuiet(alert));
          const over = page.items.filter((alert) => !stands(alert));
          return (
            <>
              <AlertTable title="Standing" empty="No alert stands." alerts={calling(page.items)} />
              <AlertTable title="Returned to normal, not yet acknowledged" alerts={over.filter(isUnanswered)} />
              <AlertTable title="Kept quiet" alerts={quiet} />
              <AlertTable title="Past" empty="No other alert was raised." alerts={over.filter((alert) => !isUnanswered(alert))} />
              <Older more={answer.more} />
            </>
          );
        }}
      </Awaited>
      <Suppressions items={status.suppressions.filter((item) => line === "" || item.line === line)} />
      <Rates line={line} />
    </PageFrame>
  );
}

function Suppressions({ items }: { items: Suppression[] }) {
  const { status, clock, now } = useView();
  if (items.length === 0) return null;
  return (
    <section class="panel">
      <h2>Kinds that call nobody now</h2>
      <ul class="rows">
        {items.map((item) => (
          <li key={item.line + item.kind}>
            <strong>{lineName(status, item.line)}: {kindName(item.kind)}</strong>{" "}
            {item.until ? `shelved until ${clock.moment(item.until, now)}` : "out of service"} by {item.by}: {item.reason}
          </li>
        ))}
      </ul>
    </section>
  );
}
