import type { Priority } from "../api/types";

/** What a mark says; each has a shape of its own, so that colour never says it alone. */
export type Sign = Priority | "normal" | "rising" | "unknown" | "quiet" | "done";

const PATHS: Record<Sign, string> = {
  high: "M12 1 23 12 12 23 1 12Z",
  medium: "M12 2 23 22H1Z",
  low: "M12 2a10 10 0 1 0 .01 0Z",
  normal: "M12 3a9 9 0 1 0 .01 0Z",
  rising: "M4 15 12 7l8 8",
  unknown: "M12 3a9 9 0 1 0 .01 0Z",
  quiet: "M5 4v16M12 4v16",
  done: "M3 13l6 6L21 5",
};

/** A mark beside words that say the same. `answered` draws it hollow: somebody sees to it. */
export function Mark({ sign, answered = false }: { sign: Sign; answered?: boolean }) {
  return (
    <svg class={`mark ${sign} ${answered ? "answered" : ""}`} viewBox="0 0 24 24" aria-hidden="true">
      <path class="shape" d={PATHS[sign]} />
      {(sign === "high" || sign === "medium") && <path class="bang" d={sign === "high" ? "M12 6.5v7M12 17v.5" : "M12 10v5M12 18.4v.4"} />}
    </svg>
  );
}
