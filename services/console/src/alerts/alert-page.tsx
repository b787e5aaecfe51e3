import { useEffect } from "preact/hooks";
import type { AlertRecord } from "../api/records";
import type { Alert } from "../api/types";
import { ago } from "../figures/clock";
import { decimals } from "../figures/number";
import { withUnit } from "../figures/units";
import { Mark } from "../parts/mark";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { link } from "../state/route";
import { useView } from "../state/view";
import { isUnanswered, kindName, lineName, sentence, stateName, trouble } from "../words/alert";
import { AdviceList } from "./advice-list";
import { Answering } from "./answering";
import { Evidence } from "./evidence";
import { History } from "./history";

/** One alert: what happened, how it is known, what to try, and who did what about it. */
export function AlertPage({ id }: { id: string }) {
  const { status } = useView();
  const live = status.alerts.find((alert) => alert.id === id);
  const answer = useAnswer<AlertRecord>(`/alerts/${encodeURIComponent(id)}`);
  const changes = `${live?.state} ${live?.comments?.length} ${live?.ended}`;
  useEffect(answer.ask, [changes]);
  const alert = live ?? answer.value?.alert;
  if (alert === undefined) {
    return (
      <PageFrame title="Alert">
        <Awaited answer={answer} missing="There is no such alert.">{() => null}</Awaited>
      </PageFrame>
    );
  }
  return (
    <PageFrame title={`${lineName(status, alert.line)}: ${trouble(alert)}`}
      aside={<p class="links"><a href={link(["ovens", alert.line])}>The oven</a><a href={link(["alerts"])}>All alerts</a></p>}>
      <Summary alert={alert} />
      <RiseReview record={answer.value} alert={alert} />
      <div class="alert-columns">
        <div>
          <Evidence alert={alert} />
          <History record={answer} alert={alert} />
        </div>
        <div>
          <AdviceList alert={alert} />
          <Answering alert={alert} changed={answer.ask} />
        </div>
      </div>
    </PageFrame>
  );
}

/** A rise that nobody looked at before it was made says so, and leads to the review that it wants. */
function RiseReview({ record, alert }: { record: AlertRecord | null; alert: Alert }) {
  const review = record?.review;
  if (!review) return null;
  if (review.rate_change) return <p class="rise-review">This rise is <a href={link(["rate-changes", review.rate_change])}>{review.words}</a>.</p>;
  const asked = { line: alert.line, product: alert.product ?? "", speed: String(alert.speed?.after ?? "") };
  return <p class="rise-review"><strong>{sentence(review.words)}.</strong> Nobody agreed to this rise before it was made. <a href={link(["rate-changes", "review"], asked)}>Review this speed now</a></p>;
}

/** Never “100 %”: evidence makes a thing likely, not certain. */
function certainty(confidence: number): string {
  return confidence > 0.999 ? "over 99.9 %" : `${decimals(Math.floor(confidence * 1000) / 10, 1)} %`;
}

function Summary({ alert }: { alert: Alert }) {
  const { clock, now, units } = useView();
  const speed = alert.speed;
  return (
    <div class={`summary ${alert.ended ? "over" : isUnanswered(alert) ? alert.priority : "answered"}`}>
      <p class="summary-message"><Mark sign={alert.priority} answered={!isUnanswered(alert)} /><span>{alert.message}</span></p>
      <dl class="facts">
        <div><dt>State</dt><dd>{sentence(stateName(alert.state))}{alert.acknowledged_by && ` by ${alert.acknowledged_by}`}</dd></div>
        <div><dt>Raised</dt><dd>{clock.moment(alert.raised, now)}, {ago(alert.raised, now)}</dd></div>
        {alert.ended && <div><dt>Over</dt><dd>{clock.moment(alert.ended, now)}</dd></div>}
        <div><dt>Priority</dt><dd>{alert.priority}</dd></div>
        <div><dt>Kind</dt><dd>{kindName(alert.kind)}</dd></div>
        {alert.product && <div><dt>Product</dt><dd>{alert.product}</dd></div>}
        {speed && (
          <div>
            <dt>Band speed</dt>
            <dd>{withUnit(speed.before, "band_speed_m_min", units)} to {withUnit(speed.after, "band_speed_m_min", units)}</dd>
          </div>
        )}
        {alert.confidence !== null && alert.confidence !== undefined && (
          <div><dt>Confidence</dt><dd>{certainty(alert.confidence)}</dd></div>
        )}
        {alert.normal && <div><dt>Held against</dt><dd><a href={link(["normals", alert.normal])}>{alert.normal}</a></dd></div>}
      </dl>
    </div>
  );
}
