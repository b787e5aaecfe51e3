import type { RateChange } from "../api/rate-change";
import { signed } from "../figures/number";
import { figure, measure } from "../figures/units";
import { LineFilter } from "../parts/line-filter";
import { Older } from "../parts/older";
import { Awaited, PageFrame } from "../parts/page";
import { Scroll } from "../parts/scroll";
import { useList } from "../state/list";
import { link, type Route } from "../state/route";
import { useView } from "../state/view";
import { lineName, sentence } from "../words/alert";
import { productName } from "../words/line";
import { remedyName, standing } from "../words/rate-change";
import { AskReview } from "./ask-review";

/** Every rate change with its state, and the way to review another. */
export function RateChangesPage({ route }: { route: Route }) {
  const line = route.query.get("line") ?? "";
  const answer = useList<RateChange>("/rate-changes", { line });
  return (
    <PageFrame title="Rate changes" aside={<LineFilter route={route} value={line} />}>
      <section class="panel">
        <h2>Review a rate change before it is made</h2>
        <AskReview line={line} product="" speed="" bakeTime="" />
      </section>
      <section class="panel">
        <h2>Records</h2>
        <Awaited answer={answer} missing="This service keeps no rate changes.">
          {(page) => page.items.length === 0
            ? <p class="quiet">No rate change has been proposed. A review above is where one begins.</p>
            : <Records changes={page.items} />}
        </Awaited>
        <Older more={answer.more} />
      </section>
    </PageFrame>
  );
}

function Records({ changes }: { changes: RateChange[] }) {
  const { status, model, clock, now, units } = useView();
  const speed = (value: number) => figure(value, "band_speed_m_min", units);
  return (
    <Scroll>
      <table>
        <thead>
          <tr>
            <th scope="col">Record</th><th scope="col">State</th><th scope="col" class="figure">Band, {measure("band_speed_m_min", units).unit}</th>
            <th scope="col" class="figure">Change</th><th scope="col">Touched</th><th scope="col">Product</th><th scope="col">Oven</th><th scope="col">Proposed</th>
          </tr>
        </thead>
        <tbody>
          {changes.map((change) => (
            <tr key={change.id}>
              <th scope="row" class="nowrap"><a href={link(["rate-changes", change.id])}>{change.id}</a></th>
              <td class="wordy">{sentence(standing(change))}</td>
              <td class="figure">{speed(change.from_m_min)} to {speed(change.to_m_min)}</td>
              <td class="figure">{signed(100 * (change.to_m_min / change.from_m_min - 1), 1)} %</td>
              <td class="wordy">{remedyName(change.remedy)}</td>
              <td class="nowrap">{productName(model, change.product)}</td>
              <td class="nowrap">{lineName(status, change.line)}</td>
              <td class="nowrap">{clock.moment(change.proposed.at, now)} <span class="quiet">{change.proposed.by}</span></td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}
