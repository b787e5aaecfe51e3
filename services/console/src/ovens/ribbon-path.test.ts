import { expect, test } from "vitest";
import type { ZoneStatus } from "../api/types";
import { beyondArea, moistureLine, RIBBON_BOTTOM, RIBBON_TOP, stretches } from "./ribbon-path";

const zone = (number: number, moisture_pct: number | null, length_m: number | null = 6) =>
  ({ zone: number, moisture_pct, low_pct: 4, high_pct: 6, length_m }) as ZoneStatus;

test("a zone is as long in the drawing as in the hall, or like the others where nobody told", () => {
  expect(stretches([zone(1, 5, 6), zone(2, 5, 12)]).map(({ from, to }) => [from, Math.round(to)])).toEqual([[0, 333], [333.3333333333333, 1000]]);
  expect(stretches([zone(1, 5, 6), zone(2, 5, null)]).map(({ to }) => to)).toEqual([500, 1000]);
});

test("the ends of the band are the edges of the ribbon, and nothing leaves the drawing", () => {
  expect(stretches([zone(1, 6), zone(2, 4), zone(3, 5), zone(4, 99), zone(5, null)]).map(({ y }) => y)).toEqual([RIBBON_TOP, RIBBON_BOTTOM, 50, 4, null]);
});

test("the line breaks where a zone has no figure and goes on behind it", () => {
  const line = moistureLine(stretches([zone(1, 5), zone(2, null), zone(3, 5), zone(4, 5)]));
  expect(line.match(/M/g)).toHaveLength(2);
  expect(line.match(/C/g)).toHaveLength(1);
  expect(line).not.toMatch(/NaN|undefined|null/);
  expect(beyondArea(stretches([zone(1, null), zone(2, null)]), RIBBON_TOP)).not.toMatch(/NaN|undefined|null/);
});
