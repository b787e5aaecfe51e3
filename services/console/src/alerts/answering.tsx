import { useState } from "preact/hooks";
import { ApiProblem, send } from "../api/client";
import type { Alert } from "../api/types";
import { usePreferences } from "../state/preferences";
import { may, useSession } from "../state/session";
import { isQuiet, isUnanswered, kindName } from "../words/alert";
import { Quieten } from "./quieten";

/** What a shift lead can do about an alert. */
export function Answering({ alert, changed }: { alert: Alert; changed(): void }) {
  const session = useSession();
  const [preferences, change] = usePreferences();
  const [comment, setComment] = useState("");
  const [said, setSaid] = useState<{ words: string; failed: boolean } | null>(null);
  const by = session.name ?? preferences.name.trim();
  const asksName = session.name === null || session.name === undefined;
  const path = `/alerts/${encodeURIComponent(alert.id)}`;

  if (!may(session, "lead")) {
    const words = session.open ? <>Alerts are answered on the service's machine: <code>ovenward alerts acknowledge {alert.id}</code></> : "To answer alerts, sign in as a shift lead.";
    return <section class="panel"><h2>Answer</h2><p class="quiet">{words}</p></section>;
  }

  const act = async (words: string, action: () => Promise<unknown>) => {
    setSaid(null);
    try {
      await action();
      setSaid({ words, failed: false });
      setComment("");
      changed();
    } catch (error) {
      setSaid({ words: error instanceof ApiProblem ? error.message : String(error), failed: true });
    }
  };
  const who = asksName ? { by } : {};
  const named = by !== "";
  const acknowledge = () => act("Acknowledged.", () => send("POST", `${path}/acknowledge`, { ...who, ...(comment.trim() && { comment: comment.trim() }) }));
  const say = () => act("The comment is kept.", () => send("POST", `${path}/comment`, { ...who, comment: comment.trim() }));
  const suppression = `/suppressions/${encodeURIComponent(alert.line)}/${encodeURIComponent(alert.kind)}`;

  return (
    <section class="panel answering">
      <h2>Answer</h2>
      {asksName && (
        <label class="field"><span>Your name</span>
          <input type="text" value={preferences.name} autocomplete="name" onInput={(event) => change({ name: event.currentTarget.value })} />
        </label>
      )}
      <label class="field"><span>Comment</span>
        <textarea value={comment} placeholder="What was seen or done" onInput={(event) => setComment(event.currentTarget.value)} />
      </label>
      <div class="buttons">
        {isUnanswered(alert) && <button type="button" class="main" disabled={!named} onClick={acknowledge}>Acknowledge</button>}
        <button type="button" disabled={!named || comment.trim() === ""} onClick={say}>Add comment</button>
      </div>
      {!named && <p class="quiet">An answer carries the name of who gave it.</p>}
      <p class={said?.failed ? "notice" : "said"} role="status">{said?.words}</p>
      {isQuiet(alert) ? (
        <button type="button" disabled={!named} onClick={() => act("It calls again.", () => send("DELETE", suppression, who))}>
          {alert.state === "shelved" ? "Take off the shelf" : "Put back in service"}
        </button>
      ) : (
        <Quieten kind={kindName(alert.kind)} ready={named} onQuieten={(until, reason) =>
          act(until === null ? "It is out of service." : "It is shelved.", () =>
            send("POST", "/suppressions", { ...who, line: alert.line, kind: alert.kind, reason, ...(until !== null && { until }) }))} />
      )}
    </section>
  );
}
