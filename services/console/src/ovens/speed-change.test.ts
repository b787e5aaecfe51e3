import { expect, test } from "vitest";
import { lastSpeedChange } from "./speed-change";

const history = (...speeds: (number | null)[]) => ({ time: speeds.map((_, index) => `t${index}`), band_speed_m_min: speeds });

test("the last change is found behind the trembling of the drive", () => {
  expect(lastSpeedChange(history(1.2, 1.2, 1.41, 1.405, 1.41))).toEqual({ at: "t2", from_m_min: 1.2, to_m_min: 1.41 });
  expect(lastSpeedChange(history(1.1, 1.3, 1.3, 1.2, 1.2))).toEqual({ at: "t3", from_m_min: 1.3, to_m_min: 1.2 });
});

test("a step within a mean is told from what stood before it", () => {
  expect(lastSpeedChange(history(1.2, 1.2, 1.3, 1.41, 1.41))).toEqual({ at: "t3", from_m_min: 1.2, to_m_min: 1.41 });
});

test("there is none where the speed has not changed or nobody knows it", () => {
  expect(lastSpeedChange(history(1.2, null, 1.21))).toBeNull();
  expect(lastSpeedChange(history(null, null))).toBeNull();
  expect(lastSpeedChange(history())).toBeNull();
});
