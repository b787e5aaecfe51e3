import { useState } from "preact/hooks";
import type { TransitComparison, TransitRun, TransitRunListed } from "../api/transit";
import { Choice } from "../parts/choice";
import { Awaited, PageFrame } from "../parts/page";
import { useAnswer } from "../state/answer";
import { useList } from "../state/list";
import { link, replaceQuery, type Route } from "../state/route";
import { useView } from "../state/view";
import { lineName } from "../words/alert";
import type { Along } from "./along";
import { Comparison } from "./comparison";
import { RunFacts } from "./run-facts";
import { RunPicture } from "./run-picture";
import { RunZones } from "./run-zones";

/** One run: what it met along the oven, beside the fixed sensors, the normal, and another run. */
export function TransitRunPage({ id, route }: { id: string; route: Route }) {
  const { status, clock, now } = useView();
  const answer = useAnswer<TransitRun>(`/transit-runs/${encodeURIComponent(id)}`);
  const against = route.query.get("against") ?? "";
  const compared = useAnswer<TransitComparison>(against === "" ? null : "/transit-runs/compare", { before: against, after: id });
  const run = answer.value;
  const title = run === null ? "Transit run" : `${lineName(status, run.line)}: run of ${clock.moment(run.entered, now)}`;
  return (
    <PageFrame title={title}
      aside={(
        <p class="links">
          <a href={`/transit-runs/${encodeURIComponent(id)}`} target="_blank" rel="noreferrer">Printable page</a>
          <a href={link(["transit-runs"])}>All runs</a>
        </p>
      )}>
      <Awaited answer={answer} missing="There is no such run.">
        {(told) => (
          <>
            <RunFacts run={told} />
            <Map run={told} other={compared.value?.before ?? null} />
            <RunZones run={told} />
            <section class="panel">
              <div class="panel-head">
                <h2>Compared</h2>
                <Against run={told} value={against} choose={(other) => replaceQuery(route, { against: other })} />
              </div>
              {against === "" ? <p class="quiet">Choose an earlier run to see what has changed since.</p>
                : <Awaited answer={compared} missing="These two cannot be compared.">{(comparison) => <Comparison comparison={comparison} />}</Awaited>}
            </section>
          </>
        )}
      </Awaited>
    </PageFrame>
  );
}

function Map({ run, other }: { run: TransitRun; other: TransitRun | null }) {
  const { clock, now } = useView();
  const [along, setAlong] = useState<Along>("place");
  return (
    <section class="panel">
      <div class="panel-head">
        <h2>Along the oven</h2>
        <Choice<Along> label="By" name="along" value={along} options={[["place", "Place"], ["time", "Time"]]} onChange={setAlong} />
      </div>
      <RunPicture run={run} other={other} along={along} quantity="moisture_pct" />
      <RunPicture run={run} other={other} along={along} quantity="air_temperature_c" />
      <p class="legend picture-legend" aria-hidden="true">
        <span><i class="key-line" /> logger</span>
        <span><i class="key-sensor" /> fixed sensors meanwhile</span>
        {run.normal && <span><i class="key-band" /> band of {run.normal}</span>}
        {other && <span><i class="key-expected" /> run of {clock.moment(other.entered, now)}</span>}
      </p>
    </section>
  );
}

function Against({ run, value, choose }: { run: TransitRun; value: string; choose(id: string): void }) {
  const { clock, now } = useView();
  const answer = useList<TransitRunListed>("/transit-runs", { line: run.line });
  const others = (answer.value?.items ?? []).filter((other) => other.id !== run.id);
  return (
    <label class="filter"><span>with</span>
      <select value={value} onChange={(event) => choose(event.currentTarget.value)}>
        <option value="">none</option>
        {others.map((other) => <option key={other.id} value={other.id}>{clock.moment(other.entered, now)}, {other.product ?? "unknown product"}</option>)}
      </select>
    </label>
  );
}
