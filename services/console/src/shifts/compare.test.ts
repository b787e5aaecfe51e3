import { expect, test } from "vitest";
import type { Normal, ShiftRow } from "../api/records";
import { asProfile, byProduct, normalAt, shiftBeside } from "./compare";

const band = (usual: number) => ({ usual, low: usual - 1, high: usual + 1 });
const normal = {
  at_speeds: [
    { speed_m_min: 1.4, zones: [{ zone: 1, moisture_pct: band(44) }] },
    { speed_m_min: 1.0, zones: [{ zone: 1, moisture_pct: band(40) }] },
  ],
} as unknown as Normal;

test("a normal is told between its speeds, and not outside of them", () => {
  expect(normalAt(normal, 1.2)).toEqual([{ zone: 1, usual: 42, low: 41, high: 43 }]);
  expect(normalAt(normal, 1.0)[0]?.usual).toBe(40);
  expect(normalAt(normal, 1.4)[0]?.usual).toBe(44);
  expect(normalAt(normal, 1.5)).toEqual([]);
  expect(normalAt(normal, 0.9)).toEqual([]);
  expect(normalAt(normal, null)).toEqual([]);
});

test("rows are told by product, and drawn beside what they are held against", () => {
  const row = (product: string, zone: number, mean: number) => ({ product, zone, moisture_pct_mean: mean, moisture_pct_p05: mean - 1, moisture_pct_p95: mean + 1 }) as ShiftRow;
  const rows = [row("T800", 1, 40), row("T800", 2, 20), row("B400", 1, 42)];
  expect(byProduct(rows).map(({ product, rows: own }) => [product, own.length])).toEqual([["T800", 2], ["B400", 1]]);
  const profile = asProfile("tunnel-1", rows.slice(0, 2), shiftBeside([row("T800", 1, 41)]));
  expect(profile.zones[0]?.moisture_pct).toEqual({ observed: 40, expected: 41, low: 40, high: 42 });
  expect(profile.zones[1]?.moisture_pct).toEqual({ observed: 20, expected: undefined, low: undefined, high: undefined });
});
