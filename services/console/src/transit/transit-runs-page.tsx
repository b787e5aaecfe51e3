import type { TransitRunListed } from "../api/transit";
import { counted } from "../figures/number";
import { figure, measure } from "../figures/units";
import { LineFilter } from "../parts/line-filter";
import { Older } from "../parts/older";
import { Awaited, PageFrame } from "../parts/page";
import { Scroll } from "../parts/scroll";
import { useList } from "../state/list";
import { link, type Route } from "../state/route";
import { useView } from "../state/view";
import { lineName } from "../words/alert";
import { productName } from "../words/line";
import { UploadRun } from "./upload-run";

/** Every run of a travelling logger that is kept, and the way to bring another. */
export function TransitRunsPage({ route }: { route: Route }) {
  const line = route.query.get("line") ?? "";
  const answer = useList<TransitRunListed>("/transit-runs", { line });
  return (
    <PageFrame title="Transit runs" aside={<LineFilter route={route} value={line} />}>
      <UploadRun line={line} changed={answer.ask} />
      <section class="panel">
        <h2>Kept runs</h2>
        <Awaited answer={answer} missing="This service keeps no transit runs.">
          {(page) => page.items.length === 0
            ? <p class="quiet">No run is kept yet. A travelling logger's file, brought above, is laid on the zones of its oven.</p>
            : <Runs runs={page.items} />}
        </Awaited>
        <Older more={answer.more} />
      </section>
    </PageFrame>
  );
}

function Runs({ runs }: { runs: TransitRunListed[] }) {
  const { status, model, clock, now, units } = useView();
  return (
    <Scroll>
      <table>
        <thead>
          <tr>
            <th scope="col">Entered</th><th scope="col">Oven</th><th scope="col">Product</th><th scope="col" class="figure">Band, {measure("band_speed_m_min", units).unit}</th>
            <th scope="col" class="figure">Peak, % vol</th><th scope="col" class="figure">Zone 3, % vol</th><th scope="col">Seen</th>
          </tr>
        </thead>
        <tbody>
          {runs.map((run) => (
            <tr key={run.id}>
              <th scope="row" class="nowrap"><a href={link(["transit-runs", run.id])}>{clock.moment(run.entered, now)}</a></th>
              <td class="nowrap">{lineName(status, run.line)}</td>
              <td>{productName(model, run.product)}</td>
              <td class="figure">{figure(run.band_speed_m_min, "band_speed_m_min", units)}</td>
              <td class="figure">{figure(run.peak_moisture_pct, "moisture_pct", units)}</td>
              <td class="figure">{figure(run.zone3_moisture_pct, "moisture_pct", units)}</td>
              <td class="wordy">{seen(run)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function seen(run: TransitRunListed): string {
  const dead = run.dead_injectors === 0 ? "" : `◆ ${counted(run.dead_injectors, "injector")} gave nothing`;
  return [run.is_whole ? "whole oven" : "ends before the last zone", dead].filter((part) => part !== "").join(", ");
}
