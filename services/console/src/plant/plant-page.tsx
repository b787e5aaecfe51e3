import type { Gap, StoreSize } from "../api/records";
import { stretch } from "../figures/clock";
import { bytes, count, decimals } from "../figures/number";
import { Older } from "../parts/older";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { useList } from "../state/list";
import { may, useSession } from "../state/session";
import { useView } from "../state/view";
import { plain, sentence } from "../words/alert";
import { Changes } from "./changes";
import { QuarantineList } from "./quarantine-list";
import { Signals } from "./signals";

const EVERY_MS = 10000;

/** Whether the service hears the plant and keeps what it hears. */
export function PlantPage() {
  const session = useSession();
  return (
    <PageFrame title="Plant">
      <Service />
      <Signals />
      <Store />
      <Gaps />
      {may(session, "engineer") && <QuarantineList />}
      {may(session, "admin") && <Changes />}
    </PageFrame>
  );
}

function Service() {
  const { status, clock, now } = useView();
  const { broker } = status;
  return (
    <section class="panel">
      <h2>Service and broker</h2>
      {status.problems.length > 0 && <div class="notice"><ul>{status.problems.map((problem) => <li key={problem}>{problem}</li>)}</ul></div>}
      <dl class="facts">
        <div><dt>Service</dt><dd>{status.ready ? "does its whole work" : "does not do its whole work"}</dd></div>
        <div><dt>Version</dt><dd>{status.version}</dd></div>
        <div><dt>Broker</dt><dd>{broker.connected ? "connected" : "not connected"}{broker.since && ` since ${clock.moment(broker.since, now)}`}</dd></div>
        <div><dt>Protocol</dt><dd>{broker.protocol === "" ? "not agreed yet" : broker.protocol}</dd></div>
        <div><dt>Too late for their window</dt><dd>{count(broker.late)}</dd></div>
      </dl>
    </section>
  );
}

function Store() {
  const answer = useAnswer<StoreSize>("/store", {}, EVERY_MS);
  const { status, clock, now } = useView();
  return (
    <section class="panel">
      <h2>Store</h2>
      <Awaited answer={answer} missing="This service does not tell the size of its store.">
        {(store) => (
          <dl class="facts">
            <div><dt>Readings</dt><dd>{count(store.readings)}</dd></div>
            <div><dt>From</dt><dd>{clock.moment(store.oldest, now)}</dd></div>
            <div><dt>Until</dt><dd>{clock.moment(store.newest, now)}</dd></div>
            <div><dt>Sealed</dt><dd>{bytes(store.sealed_bytes)} in {count(store.segments)} files</dd></div>
            <div><dt>A sealed reading</dt><dd>{decimals(store.bytes_per_sealed_reading, 2)} bytes</dd></div>
            <div><dt>Not yet sealed</dt><dd>{count(store.hot_readings)} readings, {bytes(store.hot_bytes)}</dd></div>
            {status.store.free_bytes && <div><dt>Room left</dt><dd>{bytes(status.store.free_bytes)}</dd></div>}
            <div><dt>Messages waiting to go out</dt><dd>{count(store.outbox)}</dd></div>
          </dl>
        )}
      </Awaited>
    </section>
  );
}

const CAUSES: Record<string, string> = {
  "session-lost": "The broker had forgotten our session: what came meanwhile is lost.",
  "broker-dropped": "The broker dropped messages.",
  "sequence-broken": "Messages of an edge node did not come.",
};

function Gaps() {
  const answer = useList<Gap>("/gaps", { limit: 50 });
  const { clock, now } = useView();
  return (
    <section class="panel">
      <h2>Gaps in the readings</h2>
      <Awaited answer={answer} missing="This service does not tell gaps.">
        {(page) => page.items.length === 0 ? <p class="quiet">No gap is known.</p> : (
          <ul class="rows">
            {page.items.map((gap) => (
              <li key={gap.began}>
                <strong>{clock.moment(gap.began, now)}, {stretch(Date.parse(gap.ended) - Date.parse(gap.began))}.</strong>{" "}
                {CAUSES[gap.cause] ?? `${sentence(plain(gap.cause))}.`}
                {gap.lost !== null && gap.lost !== undefined && <span class="quiet"> {count(gap.lost)} messages.</span>}
              </li>
            ))}
          </ul>
        )}
      </Awaited>
      <Older more={answer.more} />
    </section>
  );
}
