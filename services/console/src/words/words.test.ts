import { expect, test } from "vitest";
import type { RateChange } from "../api/rate-change";
import type { Alert, LineStatus } from "../api/types";
import { order } from "./advice";
import { calling, trouble } from "./alert";
import { loadWords, silentFor } from "./line";
import { chance, remedyName, settingWords, standing } from "./rate-change";

const alert = (change: Partial<Alert>): Alert =>
  ({ id: "a", line: "tunnel-1", kind: "sensor-fault", priority: "high", state: "unacknowledged", raised: "2026-10-06T13:00:00Z", message: "", ...change });

test("what nobody has answered comes first, what is kept quiet or over not at all", () => {
  const alerts = [
    alert({ id: "answered", state: "acknowledged" }),
    alert({ id: "shelved", state: "shelved" }),
    alert({ id: "over", ended: "2026-10-06T13:05:00Z" }),
    alert({ id: "medium", priority: "medium", raised: "2026-10-06T13:20:00Z" }),
    alert({ id: "high" }),
    alert({ id: "newer", raised: "2026-10-06T13:10:00Z" }),
  ];
  expect(calling(alerts).map(({ id }) => id)).toEqual(["newer", "high", "medium", "answered"]);
});

test("a finding of a later version is told by its code", () => {
  expect(trouble(alert({ finding: "carryover" }))).toBe("overloaded");
  expect(trouble(alert({ finding: "burner-out" }))).toBe("burner out");
  expect(trouble(alert({ finding: null }))).toBe("an alert");
});

test("advice carries its figure in the units wanted", () => {
  expect(order({ step: "open-exhaust", zone: 2, to_pct: 58 }, "metric")).toBe("Open the exhaust of zone 2 to 58 %");
  expect(order({ step: "open-exhaust", zone: 2 }, "metric")).toBe("Open the exhaust of zone 2");
  expect(order({ step: "slow-band", to_m_min: 1.27 }, "metric")).toBe("Slow the band to 1.27\u00a0m/min");
  expect(order({ step: "slow-band", to_m_min: 1.27 }, "us")).toBe("Slow the band to 4.17\u00a0ft/min");
  expect(order({ step: "raise-temperature", by_c: 5 }, "us")).toBe("Raise the temperature by 9\u00a0°F");
  expect(order({ step: "add-zone" }, "metric")).toBe("Add zone");
});

test("a line that nothing is heard of is silent, one just heard is not", () => {
  const line = { state: "baking", load: "unknown", newest: "2026-10-06T13:00:00Z" } as LineStatus;
  expect(silentFor(line, "2026-10-06T13:00:30Z")).toBeNull();
  expect(silentFor(line, "2026-10-06T13:03:00Z")).toBe(180);
  expect(loadWords(line)).toBe("Not judged");
  expect(loadWords({ ...line, state: "stopped" })).toBe("Not baking");
});

test("a rate change says whom it waits for", () => {
  const change = (state: string, not_agreed: string[] = []) => ({ state, not_agreed }) as unknown as RateChange;
  expect(standing(change("proposed", ["maintenance", "production", "process"]))).toBe("proposed, waits for production, process and maintenance");
  expect(standing(change("proposed", ["process"]))).toBe("proposed, waits for process");
  expect(standing(change("agreed"))).toBe("agreed by all");
  expect(standing(change("looked-at"))).toBe("looked at a day later");
  expect(standing(change("taken-back"))).toBe("taken back");
});

test("no prediction is certain", () => {
  expect([0, 0.9, 1, 42.4, 99, 99.6, 100].map(chance)).toEqual(["below 1 %", "below 1 %", "1 %", "42 %", "99 %", "above 99 %", "above 99 %"]);
});

test("a setting is told with its zone and its unit, in the units wanted", () => {
  const damper = { zone: 2, of: "damper, %", from: 45.4, to: 62 };
  const heat = { zone: 1, of: "air temperature, degC", from: 230, to: 240 };
  const band = { zone: null, of: "band speed, m/min", from: 1.4, to: 1.3 };
  expect(settingWords(damper, "metric")).toBe("Zone 2 damper: 45\u00a0% to 62\u00a0%");
  expect(settingWords(heat, "us")).toBe("Zone 1 air temperature: 446\u00a0°F to 464\u00a0°F");
  expect(settingWords(band, "metric")).toBe("Band speed: 1.40\u00a0m/min to 1.30\u00a0m/min");
  expect(settingWords({ zone: 3, of: "exhaust, % of usual", from: 100, to: 130 }, "us")).toBe("Zone 3 exhaust: 100 % of usual to 130 % of usual");
});

test("a remedy of a later version is told by its code, none as what it is", () => {
  expect([null, "add-zone", "add-fan"].map(remedyName)).toEqual(["Nothing but the band", "Add a zone", "Add fan"]);
});
