import type { Alert, LineStatus } from "../api/types";
import { stretch } from "../figures/clock";
import { withUnit } from "../figures/units";
import { Mark, type Sign } from "../parts/mark";
import { link } from "../state/route";
import { useView } from "../state/view";
import { isQuiet, isUnanswered, sentence, stands, trouble } from "../words/alert";
import { loadWords, silentFor, stateWords } from "../words/line";
import { Ribbon } from "./ribbon";
import { ZoneFigures } from "./zone-figures";

/** One oven: its name, how it stands, what it bakes, how fast, and its zones along the band. */
export function OvenCard({ line, calls }: { line: LineStatus; calls: Alert[] }) {
  const first = calls[0];
  const urgency = first === undefined ? "" : isUnanswered(first) ? first.priority : "answered";
  const silent = silentFor(line, useView().now);
  const faded = line.state !== "baking" || silent !== null;
  return (
    <li class={`oven ${urgency} ${faded ? "faded" : ""}`}>
      <div class="oven-head">
        <h2 title={line.name}><a href={link(["ovens", line.id])}>{line.name}</a></h2>
        <Verdict line={line} first={first} more={calls.length - 1} />
      </div>
      <div class="oven-facts">
        <p class="oven-product">
          <strong>{line.product_name ?? line.product ?? "no product"}</strong>
          {line.product_name && line.product && <span class="code"> {line.product}</span>}
          <span class="oven-state"> · {stateWords(line.state)}</span>
        </p>
        <Speed line={line} />
      </div>
      <Ribbon zones={line.zones} calls={urgency !== "" && urgency !== "answered"} />
      <div class="travel" aria-hidden="true" />
      <ZoneFigures zones={line.zones} />
      <Remarks line={line} silent={silent} />
    </li>
  );
}

function Verdict({ line, first, more }: { line: LineStatus; first: Alert | undefined; more: number }) {
  const { now } = useView();
  if (first !== undefined) {
    return (
      <p class="verdict">
        <Mark sign={first.priority} answered={!isUnanswered(first)} />
        <strong>{sentence(trouble(first))}</strong>
        {more > 0 && <span class="more"> and {more} more</span>}
      </p>
    );
  }
  const sign: Sign = line.load === "rising" || line.load === "overloaded" ? "rising" : line.load === "normal" ? "normal" : "unknown";
  const since = line.load === "rising" && line.load_since ? ` ${stretch(Date.parse(now) - Date.parse(line.load_since))}` : "";
  return <p class="verdict calm"><Mark sign={sign} /><span>{loadWords(line)}{since}</span></p>;
}

function Speed({ line }: { line: LineStatus }) {
  const { units, clock, now } = useView();
  const change = line.band_speed_changed;
  return (
    <p class="oven-speed">
      <span class="spoken">Band speed </span><strong>{withUnit(line.band_speed_m_min, "band_speed_m_min", units)}</strong>
      {change && (
        <span class="speed-change">
          {" "}<span aria-hidden="true">{change.to_m_min > change.from_m_min ? "↗" : "↘"}</span>
          {" "}<span class="speed-from">from {withUnit(change.from_m_min, "band_speed_m_min", units)} at </span>
          {clock.moment(change.at, now)}
        </span>
      )}
    </p>
  );
}

/** What else must be known to read the picture right. */
function Remarks({ line, silent }: { line: LineStatus; silent: number | null }) {
  const { status } = useView();
  const quiet = status.alerts.filter((alert) => alert.line === line.id && stands(alert) && isQuiet(alert));
  const words = [
    silent !== null ? `No reading for ${stretch(silent * 1000)}.` : null,
    line.normal === null || line.normal === undefined ? (line.state === "baking" ? "No normal holds for this product." : null) : null,
    quiet.length > 0 ? `Kept quiet: ${quiet.map(trouble).join(", ")}.` : null,
  ].filter((word) => word !== null);
  return words.length === 0 ? null : <p class="remarks">{words.join(" ")}</p>;
}
