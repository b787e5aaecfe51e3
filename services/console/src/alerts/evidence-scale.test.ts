import { expect, test } from "vitest";
import { heights } from "./evidence-scale";

test("each zone fills its own panel, whatever its moisture", () => {
  const wet = heights({ zone: 1, before: 37.2, observed: 41.8, expected: 38, low: 36.1, high: 39.9 });
  const dry = heights({ zone: 3, before: 0.72, observed: 1.18, expected: 0.8, low: 0.61, high: 0.99 });
  expect(wet.observed).toBeCloseTo(0.86);
  expect(wet.low).toBeCloseTo(0.14);
  expect(dry.observed).toBeCloseTo(0.86);
  expect(dry.low).toBeCloseTo(0.14);
});

test("what has no figure has no height", () => {
  expect(heights({ zone: 1, observed: 5, expected: 5, before: null })).toEqual({ before: null, observed: 0.5, expected: 0.5, low: null, high: null });
});
