import { depth, type Scale } from "./scale";

/** A figure at its place from 0 to 100 across a drawing; none where nobody knows it. */
export interface Point {
  at: number;
  value: number | null;
}

/** A line through what is known; it breaks where something is not. */
export function linePath(points: Point[], scale: Scale): string {
  let drawing = false;
  return points.map(({ at, value }) => {
    if (value === null) {
      drawing = false;
      return "";
    }
    const step = `${drawing ? "L" : "M"}${at} ${depth(value, scale)}`;
    drawing = true;
    return step;
  }).join("");
}
