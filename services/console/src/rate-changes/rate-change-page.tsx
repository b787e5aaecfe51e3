import { recordPath, type RateChange } from "../api/rate-change";
import { signed } from "../figures/number";
import { withUnit } from "../figures/units";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { link } from "../state/route";
import { useView } from "../state/view";
import { lineName, sentence } from "../words/alert";
import { productName } from "../words/line";
import { chance, remedyName, standing } from "../words/rate-change";
import { Outcome } from "./outcome";
import { Steps } from "./steps";

/** One rate change: what was proposed, who agreed, when it was made, and what came of it. */
export function RateChangePage({ id }: { id: string }) {
  const { status } = useView();
  const answer = useAnswer<RateChange>(recordPath(id));
  const line = answer.value?.line ?? id.split("/")[0] ?? "";
  return (
    <PageFrame title={`Rate change ${id.split("/").at(-1)}: ${lineName(status, line)}`}
      aside={<p class="links"><a href={link(["rate-changes"])}>All rate changes</a></p>}>
      <Awaited answer={answer} missing="There is no such rate change.">
        {(change) => (
          <>
            <Summary change={change} />
            <div class="alert-columns">
              <div><Outcome change={change} /></div>
              <div><Steps change={change} changed={answer.ask} /></div>
            </div>
          </>
        )}
      </Awaited>
    </PageFrame>
  );
}

function Summary({ change }: { change: RateChange }) {
  const { model, units } = useView();
  const review = link(["rate-changes", "review"], { line: change.line, product: change.product, speed: String(change.to_m_min) });
  return (
    <div class="summary">
      <p class="summary-message">
        <span>
          {withUnit(change.from_m_min, "band_speed_m_min", units)} to <strong>{withUnit(change.to_m_min, "band_speed_m_min", units)}</strong>
          {" "}({signed(100 * (change.to_m_min / change.from_m_min - 1), 1)} %): {change.reason}
        </span>
      </p>
      <dl class="facts">
        <div><dt>State</dt><dd>{sentence(standing(change))}</dd></div>
        <div><dt>Product</dt><dd>{productName(model, change.product)}</dd></div>
        <div><dt>Touched</dt><dd>{remedyName(change.remedy)}</dd></div>
        <div><dt>Chance of carryover foretold</dt><dd>{chance(change.carryover_chance_pct)}</dd></div>
        <div><dt>Foretold by</dt><dd>water balance {change.balance}</dd></div>
        <div><dt>Review</dt><dd><a href={review}>of this speed, as of today</a></dd></div>
      </dl>
    </div>
  );
}
