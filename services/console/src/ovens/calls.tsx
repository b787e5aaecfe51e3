import type { Alert } from "../api/types";
import { ago, stretch } from "../figures/clock";
import { Mark } from "../parts/mark";
import { usePreferences } from "../state/preferences";
import { link } from "../state/route";
import { useView } from "../state/view";
import { isUnanswered, lineName, trouble } from "../words/alert";
import { order } from "../words/advice";

/** So many calls are told whole; the rest in a line each. */
const WHOLE = 2;

/** What needs a person, large enough to be read from across the floor. */
export function Calls({ calls }: { calls: Alert[] }) {
  const open = calls.filter(isUnanswered);
  return (
    <section class="calls-list" aria-label="What needs a person">
      {calls.length === 0 ? <Calm /> : (
        <ul aria-live="polite">
          {calls.map((alert, index) => {
            const whole = index < WHOLE && (isUnanswered(alert) || open.length === 0);
            return <li key={alert.id} class={whole ? "whole" : ""}>{whole ? <Call alert={alert} /> : <CallLine alert={alert} />}</li>;
          })}
        </ul>
      )}
    </section>
  );
}

function Calm() {
  const { status } = useView();
  const baking = status.lines.filter((line) => line.state === "baking").length;
  const words = status.lines.length === 0 ? "No oven is configured." : `${baking} of ${status.lines.length} ovens baking.`;
  return <p class="calm-line"><Mark sign="normal" /><strong>Nothing needs a person.</strong> <span>{words}</span></p>;
}

function Call({ alert }: { alert: Alert }) {
  const { status, now } = useView();
  const [{ units }] = usePreferences();
  const first = alert.advice?.[0];
  const rest = (alert.advice?.length ?? 0) - 1;
  return (
    <article class={`call ${isUnanswered(alert) ? alert.priority : "answered"}`}>
      <h2>
        <Mark sign={alert.priority} answered={!isUnanswered(alert)} />
        <span>{lineName(status, alert.line)}: {trouble(alert)}</span>
      </h2>
      <p class="call-message">{alert.message}</p>
      {first && <p class="call-first"><span>Try first</span> <strong>{order(first, units)}</strong>{rest > 0 && <span class="call-rest">, then {rest} more</span>}</p>}
      <p class="call-end">
        <a class="button" href={link(["alerts", alert.id])}>{isUnanswered(alert) ? "Evidence and answer" : "Evidence"}</a>
        <span>raised {ago(alert.raised, now)}{alert.acknowledged_by && `, acknowledged by ${alert.acknowledged_by}`}</span>
      </p>
    </article>
  );
}

function CallLine({ alert }: { alert: Alert }) {
  const { status, now } = useView();
  return (
    <p class={`call-line ${isUnanswered(alert) ? alert.priority : "answered"}`}>
      <Mark sign={alert.priority} answered={!isUnanswered(alert)} />
      <a href={link(["alerts", alert.id])}>{lineName(status, alert.line)}: {trouble(alert)}</a>
      <span>
        {stretch(Date.parse(now) - Date.parse(alert.raised))}
        {alert.acknowledged_by && `, acknowledged by ${alert.acknowledged_by}`}
      </span>
    </p>
  );
}
