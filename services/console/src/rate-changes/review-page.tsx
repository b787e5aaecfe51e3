import type { Review } from "../api/rate-change";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { link, type Route } from "../state/route";
import { useView } from "../state/view";
import { lineName } from "../words/alert";
import { productName } from "../words/line";
import { AskReview } from "./ask-review";
import { ForetoldZones } from "./foretold-zones";
import { HighestSpeeds } from "./highest-speeds";
import { Propose } from "./propose";
import { Remedies } from "./remedies";
import { Verdict } from "./verdict";

/** What will happen at another speed: what the engineer must know before anybody is asked to agree. */
export function ReviewPage({ route }: { route: Route }) {
  const { status, model, units } = useView();
  const asked = (name: string) => route.query.get(name) ?? "";
  const [line, product, speed, bakeTime] = [asked("line"), asked("product"), asked("speed"), asked("bake_time")];
  const complete = line !== "" && product !== "" && (speed !== "" || bakeTime !== "");
  const change = { line, product, ...(speed !== "" ? { speed_m_min: speed } : { bake_time_min: bakeTime }) };
  const answer = useAnswer<Review>(complete ? "/rate-changes/review" : null, change);
  const name = productName(model, product);
  const sheet = `/rate-changes/review?${new URLSearchParams(change)}`;

  return (
    <PageFrame title={complete ? `Rate change: ${lineName(status, line)}, ${name}` : "Rate change"}
      aside={(
        <p class="links">
          {answer.value !== null && <a href={sheet} target="_blank" rel="noreferrer">Printable sheet</a>}
          <a href={link(["rate-changes"])}>All rate changes</a>
        </p>
      )}>
      <section class="panel"><AskReview key={`${route.query} ${units}`} line={line} product={product} speed={speed} bakeTime={bakeTime} /></section>
      {complete && (
        <Awaited answer={answer} missing="This service reviews no rate changes.">
          {(review) => (
            <>
              <Verdict review={review} />
              <ForetoldZones review={review} />
              <HighestSpeeds review={review} />
              <Remedies review={review} />
              <Unknown review={review} />
              <Propose key={JSON.stringify(change)} review={review} change={change} />
            </>
          )}
        </Awaited>
      )}
    </PageFrame>
  );
}

function Unknown({ review }: { review: Review }) {
  return (
    <section class="panel">
      <h2>What this review does not know</h2>
      {review.untold.length + review.not_configured.length === 0 && <p class="quiet">The history tells everything that the review asks of it.</p>}
      <ul class="rows">
        {review.untold.map((words) => <li key={words}>The history cannot tell: {words}.</li>)}
        {review.not_configured.map((words) => <li key={words}>{words}.</li>)}
      </ul>
      <p class="caution"><strong>Caution.</strong> {review.caution}</p>
    </section>
  );
}
