import { useEffect, useState } from "preact/hooks";
import type { History } from "../api/line";
import type { LineStatus } from "../api/types";
import { Choice } from "../parts/choice";
import { Awaited } from "../parts/page";
import { useAnswer } from "../state/answer";
import { replaceQuery, type Route } from "../state/route";
import { useView } from "../state/view";
import { HoursView } from "./hours-view";

const LENGTHS = ["2", "4", "8", "24"] as const;
type Length = (typeof LENGTHS)[number];
const RENEW_MS = 10000;

/** The last hours of an oven, or the hours before a moment that was chosen. */
export function Hours({ line, route }: { line: LineStatus; route: Route }) {
  const { status, clock } = useView();
  const asked = route.query.get("hours");
  const hours = LENGTHS.find((length) => length === asked) ?? "4";
  const chosen = route.query.get("until");
  const plantNow = Date.parse(status.now);
  const [end, setEnd] = useState(plantNow);
  // Plant time runs on; the hours are asked for again once in a while, not with every second.
  useEffect(() => {
    const timer = setInterval(() => setEnd(0), RENEW_MS);
    return () => clearInterval(timer);
  }, []);
  useEffect(() => {
    if (end === 0) setEnd(plantNow);
  }, [end]);

  const until = chosen === null || Number.isNaN(Date.parse(chosen)) ? (end === 0 ? plantNow : end) : Date.parse(chosen);
  const from = until - Number(hours) * 3600e3;
  const answer = useAnswer<History>(`/lines/${encodeURIComponent(line.id)}/history`, {
    from: new Date(from).toISOString(), to: chosen === null ? null : new Date(until).toISOString(),
  });
  const move = (share: number) => replaceQuery(route, { until: new Date(Math.min(until + share * Number(hours) * 3600e3, plantNow)).toISOString() });

  return (
    <section class="panel" aria-labelledby="hours-title">
      <div class="panel-head">
        <h2 id="hours-title">{chosen === null ? `The last ${hours} h` : `${hours} h until ${clock.moment(until, status.now)}`}</h2>
        <div class="hours-tools">
          <button type="button" onClick={() => move(-0.5)}>Earlier</button>
          <button type="button" disabled={chosen === null} onClick={() => move(0.5)}>Later</button>
          {chosen !== null && <button type="button" onClick={() => replaceQuery(route, { until: "" })}>Now</button>}
          <Choice<Length> label="Stretch" name="hours" value={hours} options={LENGTHS.map((length) => [length, `${length} h`] as const)}
            onChange={(length) => replaceQuery(route, { hours: length })} />
        </div>
      </div>
      <Awaited answer={answer} missing="This service does not tell what was.">
        {(history) => history.time.length === 0
          ? <p class="empty">Nothing is kept of these hours.</p>
          : <HoursView key={`${line.id} ${hours} ${chosen}`} history={history} line={line} />}
      </Awaited>
    </section>
  );
}
