import type { Maybe } from "../api/types";

/** What stands where nobody has a figure. */
export const NO_FIGURE = "–";

const MINUS = "\u2212";

/** A figure with so many decimals; a dash where there is none. */
export function decimals(value: Maybe<number>, places: number): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return NO_FIGURE;
  const text = value.toFixed(places);
  const zero = Number(text) === 0;
  return zero ? text.replace("-", "") : text.replace("-", MINUS);
}

/** A difference, always with its sign. */
export function signed(value: Maybe<number>, places: number): string {
  const text = decimals(value, places);
  const plus = value !== null && value !== undefined && Number(value.toFixed(places)) > 0;
  return plus ? `+${text}` : text;
}

/** `4.1–5.7`; a dash unless both ends are known. */
export function range(low: Maybe<number>, high: Maybe<number>, places: number): string {
  const ends = [decimals(low, places), decimals(high, places)];
  return ends.includes(NO_FIGURE) ? NO_FIGURE : `${ends[0]} to ${ends[1]}`;
}

/** A large count with thin spaces: `1 284 310`. */
export function count(value: Maybe<number>): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return NO_FIGURE;
  return Math.round(value).toString().replace(/\B(?=(\d{3})+$)/g, "\u202f");
}

/** A size in the largest unit that leaves at least 1: `3.2 GB`. */
export function bytes(value: Maybe<number>): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return NO_FIGURE;
  const units = ["bytes", "kB", "MB", "GB", "TB"];
  const power = Math.min(Math.floor(Math.log10(Math.max(value, 1)) / 3), units.length - 1);
  const scaled = value / 1000 ** power;
  return `${scaled.toFixed(power === 0 || scaled >= 100 ? 0 : 1)} ${units[power]}`;
}
