import { useState } from "preact/hooks";
import type { Signal } from "../api/records";
import { stretch } from "../figures/clock";
import { decimals, NO_FIGURE } from "../figures/number";
import { Choice } from "../parts/choice";
import { Mark } from "../parts/mark";
import { Awaited } from "../parts/page";
import { useWholeList } from "../state/list";
import { useView } from "../state/view";
import { lineName, sentence } from "../words/alert";
import { Scroll } from "../parts/scroll";

const STATES: Record<string, string> = { fresh: "fresh", old: "too old", unheard: "never heard" };

const EVERY_MS = 5000;

/** Whether a signal wants a look: too old, never heard, or told by the plant to be poor. */
const isPoor = (signal: Signal): boolean => signal.state !== "fresh" || (signal.quality !== null && signal.quality !== undefined && signal.quality !== "good");

/** Every configured signal with its last value, the poor ones first. */
export function Signals() {
  const answer = useWholeList<Signal>("/signals", {}, EVERY_MS);
  const [which, setWhich] = useState<"poor" | "all">("poor");
  return (
    <section class="panel">
      <Awaited answer={answer} missing="This service does not tell its signals.">
        {(page) => {
          const poor = page.items.filter(isPoor);
          const shown = which === "poor" ? poor : page.items;
          return (
            <>
              <div class="panel-head">
                <h2>Signals <span class="quiet">{page.items.length} configured, {poor.length} to look at</span></h2>
                <Choice label="Show" name="signals" value={which} options={[["poor", "To look at"], ["all", "All"]] as const} onChange={(value) => setWhich(value)} />
              </div>
              {shown.length === 0 ? <p class="quiet">Every signal is fresh and of good quality.</p> : <SignalTable signals={shown} />}
            </>
          );
        }}
      </Awaited>
    </section>
  );
}

function SignalTable({ signals }: { signals: Signal[] }) {
  const { status, clock, now } = useView();
  return (
    <Scroll>
      <table>
        <thead>
          <tr>
            <th scope="col">Signal</th><th scope="col">Oven</th><th scope="col" class="figure">Zone</th><th scope="col" class="figure">Value</th>
            <th scope="col">Time</th><th scope="col" class="figure">Age</th><th scope="col">State</th><th scope="col">Topic</th>
          </tr>
        </thead>
        <tbody>
          {signals.map((signal) => (
            <tr key={signal.tag}>
              <th scope="row">{sentence(signal.quantity.replaceAll("_", " "))}</th>
              <td>{lineName(status, signal.line)}</td>
              <td class="figure">{signal.zone ?? NO_FIGURE}</td>
              <td class="figure">{signal.text ?? `${decimals(signal.value, 2)} ${signal.unit}`}</td>
              <td class="nowrap">{clock.moment(signal.time, now)}</td>
              <td class="figure">{signal.age_s === null || signal.age_s === undefined ? NO_FIGURE : stretch(signal.age_s * 1000)}</td>
              <td class="nowrap">
                <span class="signal-state"><Mark sign={isPoor(signal) ? "medium" : "normal"} /> {STATES[signal.state] ?? signal.state}{signal.quality && signal.quality !== "good" && `, ${signal.quality}`}</span>
              </td>
              <td><code>{signal.topic}</code></td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}
