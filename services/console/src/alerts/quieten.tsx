import { useState } from "preact/hooks";
import { Choice } from "../parts/choice";
import { useView } from "../state/view";

type Length = "30" | "60" | "240" | "480" | "none";
const LENGTHS: readonly (readonly [Length, string])[] = [
  ["30", "30 min"], ["60", "1 h"], ["240", "4 h"], ["480", "8 h"], ["none", "Out of service"],
];

/** Keeps a kind of alert quiet on a line: for a while with a reason, or until it is put back. */
export function Quieten({ kind, ready, onQuieten }: {
  kind: string;
  ready: boolean;
  /** `until` is RFC 3339; none takes the kind out of service. */
  onQuieten(until: string | null, reason: string): void;
}) {
  const { clock, now } = useView();
  const [length, setLength] = useState<Length>("60");
  const [reason, setReason] = useState("");
  // A shelf ends by the clock of the service: this browser's may be wrong, and in the demo time runs faster.
  const until = length === "none" ? null : new Date(Date.parse(now) + Number(length) * 60000).toISOString();
  return (
    <details class="quieten">
      <summary>Keep this kind quiet</summary>
      <p class="quiet">“{kind}” on this oven is then kept and listed, and calls nobody.</p>
      <Choice<Length> label="For" name="quieten" value={length} options={LENGTHS} onChange={setLength} />
      <label class="field"><span>Reason</span>
        <input type="text" value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
      </label>
      <button type="button" disabled={!ready || reason.trim() === ""} onClick={() => onQuieten(until, reason.trim())}>
        {until === null ? "Take out of service" : `Shelve until ${clock.time(until)}`}
      </button>
    </details>
  );
}
