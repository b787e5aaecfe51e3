import type { AlertRecord } from "../api/records";
import type { Alert } from "../api/types";
import { Awaited } from "../parts/page";
import type { Answer } from "../state/answer";
import { useView } from "../state/view";
import { sentence, stateName } from "../words/alert";

/** Who did what about an alert, the newest first, with what people said. */
export function History({ record, alert }: { record: Answer<AlertRecord>; alert: Alert }) {
  const { clock, now } = useView();
  const comments = alert.comments ?? [];
  return (
    <section class="panel">
      <h2>Who did what</h2>
      {comments.length > 0 && (
        <ul class="rows comments">
          {comments.toReversed().map((comment) => (
            <li key={comment.at + comment.text}><q>{comment.text}</q> <span class="quiet">{comment.by}, {clock.moment(comment.at, now)}</span></li>
          ))}
        </ul>
      )}
      <Awaited answer={record} missing="This service does not keep what was done.">
        {({ history }) => (
          <ol class="rows">
            {history.toReversed().map((change, index) => (
              <li key={index}>
                <span class="when">{clock.moment(change.time, now)}</span>{" "}
                <strong>{sentence(stateName(change.state))}</strong>{" "}
                <span class="quiet">{change.who}{change.what !== change.state && change.what !== "" && `: ${change.what}`}</span>
              </li>
            ))}
          </ol>
        )}
      </Awaited>
    </section>
  );
}
