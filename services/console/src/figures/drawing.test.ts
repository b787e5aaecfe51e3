import { describe, expect, test } from "vitest";
import { linePath } from "./line-path";
import { ownScale } from "./own-scale";
import { depth, scaleOf } from "./scale";

describe("the scale of a picture", () => {
  test("has round marks and holds every figure", () => {
    expect(scaleOf([41.8, 6.2, null], true)).toEqual({ bottom: 0, top: 60, marks: [0, 20, 40, 60] });
    expect(scaleOf([222.3, 246.9], false)).toEqual({ bottom: 220, top: 250, marks: [220, 230, 240, 250] });
  });

  test("stands without a figure, or with figures that are all alike", () => {
    for (const scale of [scaleOf([], true), scaleOf([5, 5], false), scaleOf([0], true)]) {
      expect(scale.top).toBeGreaterThan(scale.bottom);
      expect(scale.marks.length).toBeGreaterThan(1);
    }
    expect(depth(30, { bottom: 0, top: 60, marks: [] })).toBe(50);
    expect(depth(90, { bottom: 0, top: 60, marks: [] })).toBe(0);
  });
});

test("a zone on a scale of its own leaves room above and below, and places no figure that nobody has", () => {
  const place = ownScale([10, null, 14, undefined]);
  expect(place(14)).toBeCloseTo(0.86);
  expect(place(10)).toBeCloseTo(0.14);
  expect(place(12)).toBeCloseTo(0.5);
  expect(place(null)).toBeNull();
  expect(ownScale([7])(7)).toBe(0.5);
});

test("a line breaks where nobody knows the figure", () => {
  const scale = { bottom: 0, top: 10, marks: [] };
  const points = [{ at: 0, value: 10 }, { at: 25, value: 5 }, { at: 50, value: null }, { at: 75, value: 0 }, { at: 100, value: 5 }];
  expect(linePath(points, scale)).toBe("M0 0L25 50M75 100L100 50");
  expect(linePath([], scale)).toBe("");
});
