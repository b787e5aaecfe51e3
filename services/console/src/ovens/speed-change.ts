import { useEffect, useState } from "preact/hooks";
import { get } from "../api/client";
import type { History } from "../api/line";
import type { LineStatus, SpeedChanged } from "../api/types";

/** A band is faster or slower by at least this share; less is the drive's own trembling. */
const LEAST_SHARE = 0.02;
const RENEW_MS = 30000;
const STEP_S = 120;

/** The last change of the band speed: when it came to what it is now, and from where. None where it has not changed. */
export function lastSpeedChange(history: Pick<History, "time" | "band_speed_m_min">): SpeedChanged | null {
  const known = history.time
    .map((at, index) => ({ at, speed: history.band_speed_m_min[index] }))
    .filter((one): one is { at: string; speed: number } => typeof one.speed === "number");
  const now = known.at(-1);
  if (now === undefined) return null;
  const other = known.findLastIndex(({ speed }) => Math.abs(speed - now.speed) > LEAST_SHARE * now.speed);
  const since = known[other + 1];
  // A step may lie within a mean: what stood before it is told by the one before that.
  const from = known[Math.max(other - 1, 0)];
  return other < 0 || since === undefined || from === undefined ? null : { at: since.at, from_m_min: from.speed, to_m_min: now.speed };
}

/** The lines with the last change of their band speed, asked for once in a while. */
export function useSpeedChanges(lines: LineStatus[]): LineStatus[] {
  const [changes, setChanges] = useState<Record<string, SpeedChanged | null>>({});
  const ids = lines.map((line) => line.id).join(" ");
  useEffect(() => {
    const abort = new AbortController();
    const ask = () => {
      for (const id of ids === "" ? [] : ids.split(" ")) {
        get<History>(`/lines/${encodeURIComponent(id)}/history`, { step_s: STEP_S }, abort.signal).then(
          (history) => setChanges((known) => ({ ...known, [id]: lastSpeedChange(history) })),
          // A card without its last change still shows the speed.
          () => undefined,
        );
      }
    };
    ask();
    const timer = setInterval(ask, RENEW_MS);
    return () => {
      clearInterval(timer);
      abort.abort();
    };
  }, [ids]);
  return lines.map((line) => ({ ...line, band_speed_changed: line.band_speed_changed ?? changes[line.id] }));
}
