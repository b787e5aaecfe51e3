import type { Alert } from "../api/types";
import { stretch } from "../figures/clock";
import { Mark } from "../parts/mark";
import { link } from "../state/route";
import { useView } from "../state/view";
import { isQuiet, isUnanswered, lineName, sentence, stands, stateName, trouble } from "../words/alert";
import { Scroll } from "../parts/scroll";

/** Alerts of one sort, a row each. Without alerts it says so, or, without words for that, is not there. */
export function AlertTable({ title, alerts, empty }: { title: string; alerts: Alert[]; empty?: string }) {
  const { status, clock, now } = useView();
  if (alerts.length === 0 && empty === undefined) return null;
  return (
    <section class="panel">
      <h2>{title}{alerts.length > 0 && <span class="quiet"> {alerts.length}</span>}</h2>
      {alerts.length === 0 ? <p class="quiet">{empty}</p> : (
        <Scroll>
          <table class="alert-table">
            <thead>
              <tr><th scope="col">What</th><th scope="col">Raised</th><th scope="col" class="figure">Stood</th><th scope="col">State</th></tr>
            </thead>
            <tbody>
              {alerts.map((alert) => (
                <tr key={alert.id} class={stands(alert) && !isQuiet(alert) ? alert.priority : ""}>
                  <th scope="row">
                    <a href={link(["alerts", alert.id])}>
                      <Mark sign={isQuiet(alert) ? "quiet" : alert.priority} answered={!isUnanswered(alert)} />
                      <span>{lineName(status, alert.line)}: {trouble(alert)}</span>
                    </a>
                    <span class="alert-message">{alert.message}</span>
                  </th>
                  <td class="nowrap">{clock.moment(alert.raised, now)}</td>
                  <td class="figure">{stretch(Date.parse(alert.ended ?? now) - Date.parse(alert.raised))}</td>
                  <td>{sentence(stateName(alert.state))}{alert.acknowledged_by && <span class="quiet"> by {alert.acknowledged_by}</span>}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
    </section>
  );
}
