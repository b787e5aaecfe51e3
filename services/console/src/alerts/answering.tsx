import { useState } from "preact/hooks";
import { send } from "../api/client";
import type { Alert } from "../api/types";
import { NameField, Said, useSigned } from "../parts/signed";
import { may, useSession } from "../state/session";
import { isQuiet, isUnanswered, kindName } from "../words/alert";
import { Quieten } from "./quieten";

/** What a shift lead can do about an alert. */
export function Answering({ alert, changed }: { alert: Alert; changed(): void }) {
  const session = useSession();
  const signed = useSigned(changed);
  const [comment, setComment] = useState("");
  const path = `/alerts/${encodeURIComponent(alert.id)}`;

  if (!may(session, "lead")) {
    const words = session.open ? <>Alerts are answered on the service's machine: <code>ovenward alerts acknowledge {alert.id}</code></> : "To answer alerts, sign in as a shift lead.";
    return <section class="panel"><h2>Answer</h2><p class="quiet">{words}</p></section>;
  }

  const { named, who } = signed;
  const answer = async (words: string, verb: "acknowledge" | "comment") => {
    const body = { ...who, ...(comment.trim() && { comment: comment.trim() }) };
    if (await signed.act(words, () => send("POST", `${path}/${verb}`, body))) setComment("");
  };
  const suppression = `/suppressions/${encodeURIComponent(alert.line)}/${encodeURIComponent(alert.kind)}`;

  return (
    <section class="panel answering">
      <h2>Answer</h2>
      <NameField />
      <label class="field"><span>Comment</span>
        <textarea value={comment} placeholder="What was seen or done" onInput={(event) => setComment(event.currentTarget.value)} />
      </label>
      <div class="buttons">
        {isUnanswered(alert) && <button type="button" class="main" disabled={!named} onClick={() => answer("Acknowledged.", "acknowledge")}>Acknowledge</button>}
        <button type="button" disabled={!named || comment.trim() === ""} onClick={() => answer("The comment is kept.", "comment")}>Add comment</button>
      </div>
      {!named && <p class="quiet">An answer carries the name of who gave it.</p>}
      <Said signed={signed} />
      {isQuiet(alert) ? (
        <button type="button" disabled={!named} onClick={() => signed.act("It calls again.", () => send("DELETE", suppression, who))}>
          {alert.state === "shelved" ? "Take off the shelf" : "Put back in service"}
        </button>
      ) : (
        <Quieten kind={kindName(alert.kind)} ready={named} onQuieten={(until, reason) =>
          signed.act(until === null ? "It is out of service." : "It is shelved.", () =>
            send("POST", "/suppressions", { ...who, line: alert.line, kind: alert.kind, reason, ...(until !== null && { until }) }))} />
      )}
    </section>
  );
}
