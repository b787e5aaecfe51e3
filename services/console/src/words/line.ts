import type { Lines } from "../api/line";
import type { LineStatus, Maybe } from "../api/types";
import { plain } from "./alert";

const STATES: Record<string, string> = {
  baking: "baking",
  gap: "gap in the band",
  changeover: "changeover",
  heating: "heating up",
  stopped: "band stopped",
};

/** The name of a product; its code, where the config no longer knows it. */
export function productName(model: Lines | null, code: Maybe<string>): string {
  return model?.products.find((product) => product.code === code)?.name ?? code ?? "unknown";
}

/** What the line is doing. */
export const stateWords = (state: string): string => STATES[state] ?? plain(state);

/** A reading is this old before its absence is said, s. */
const SILENT_AFTER_S = 60;

/** How long nothing has come from a line, s; none while readings come. */
export function silentFor(line: LineStatus, now: string): number | null {
  const age = line.newest_age_s ?? (line.newest ? (Date.parse(now) - Date.parse(line.newest)) / 1000 : null);
  return age !== null && age > SILENT_AFTER_S ? age : null;
}

/** How the oven carries its load, in a word or two. */
export function loadWords(line: LineStatus): string {
  switch (line.load) {
    case "overloaded":
      return "Overloaded";
    case "rising":
      return "Load rising";
    case "normal":
      return "Normal";
    default:
      return line.state === "baking" ? "Not judged" : "Not baking";
  }
}
