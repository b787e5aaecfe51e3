import type { Maybe } from "../api/types";
import { isFigure } from "./number";

/** Where a figure lies against the normal's band. */
export type Side = "above" | "within" | "below" | "unjudged";

export function sideOf(value: Maybe<number>, low: Maybe<number>, high: Maybe<number>): Side {
  if (!isFigure(value) || !isFigure(low) || !isFigure(high)) return "unjudged";
  return value > high ? "above" : value < low ? "below" : "within";
}

/** The distance of a figure from the band: positive above, negative below, 0 within. */
export function beyond(value: Maybe<number>, low: Maybe<number>, high: Maybe<number>): number {
  const side = sideOf(value, low, high);
  if (side === "above") return (value as number) - (high as number);
  return side === "below" ? (value as number) - (low as number) : 0;
}

/** Where a figure lies, measured in half widths of the band from its middle: -1 at the lower end, 1 at the upper. */
export function placeInBand(value: Maybe<number>, low: Maybe<number>, high: Maybe<number>): number | null {
  if (sideOf(value, low, high) === "unjudged" || high === low) return null;
  const middle = ((low as number) + (high as number)) / 2;
  return ((value as number) - middle) / (((high as number) - (low as number)) / 2);
}
