import type { Maybe } from "../api/types";

/** What stands where nobody has a figure. */
export const NO_FIGURE = "–";

/** A number as a person types it, with a point or a comma; NaN where it is none. */
export const typed = (text: string): number => (text.trim() === "" ? Number.NaN : Number(text.trim().replace(",", ".")));

/** Whether somebody has this figure. */
export function isFigure(value: Maybe<number>): value is number {
  return value !== null && value !== undefined && Number.isFinite(value);
}

const MINUS = "\u2212";

/** A figure with so many decimals; a dash where there is none. */
export function decimals(value: Maybe<number>, places: number): string {
  if (!isFigure(value)) return NO_FIGURE;
  const text = value.toFixed(places);
  const zero = Number(text) === 0;
  return zero ? text.replace("-", "") : text.replace("-", MINUS);
}

/** A difference, always with its sign. */
export function signed(value: Maybe<number>, places: number): string {
  const text = decimals(value, places);
  const plus = isFigure(value) && Number(value.toFixed(places)) > 0;
  return plus ? `+${text}` : text;
}

/** `4.1–5.7`; a dash unless both ends are known. */
export function range(low: Maybe<number>, high: Maybe<number>, places: number): string {
  const ends = [decimals(low, places), decimals(high, places)];
  return ends.includes(NO_FIGURE) ? NO_FIGURE : `${ends[0]} to ${ends[1]}`;
}

/** A large count with thin spaces: `1 284 310`. */
export function count(value: Maybe<number>): string {
  return grouped(decimals(value, 0));
}

function grouped(whole: string): string {
  return whole.replace(/\B(?=(\d{3})+$)/g, "\u202f");
}

/** `1 shift`, `3 shifts`. */
export const counted = (number: number, one: string): string => `${count(number)} ${one}${number === 1 ? "" : "s"}`;

/** An amount of money with its currency: `1 284 GBP`; a dash where nobody has configured prices. */
export function money(value: Maybe<number>, currency: Maybe<string>, places = 0): string {
  const text = decimals(value, places);
  if (text === NO_FIGURE) return NO_FIGURE;
  const [whole = "", part] = text.split(".");
  return [grouped(whole) + (part === undefined ? "" : `.${part}`), currency ?? ""].join("\u00a0").trimEnd();
}

/** A size in the largest unit that leaves at least 1: `3.2 GB`. */
export function bytes(value: Maybe<number>): string {
  if (!isFigure(value)) return NO_FIGURE;
  const units = ["bytes", "kB", "MB", "GB", "TB"];
  const power = Math.min(Math.floor(Math.log10(Math.max(value, 1)) / 3), units.length - 1);
  const scaled = value / 1000 ** power;
  return `${scaled.toFixed(power === 0 || scaled >= 100 ? 0 : 1)} ${units[power]}`;
}
