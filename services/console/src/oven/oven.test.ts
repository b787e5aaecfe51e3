import { describe, expect, test } from "vitest";
import type { History } from "../api/line";
import { HUMIDITY } from "../figures/units";
import { panels, within } from "./columns";
import { cell, csv } from "./csv";

const history: History = {
  line: "tunnel-1", from: "2026-10-06T12:00:00Z", to: "2026-10-06T12:01:00Z", step_s: 30,
  time: ["2026-10-06T12:00:00Z", "2026-10-06T12:00:30Z"], state: ["baking", "gap"], product: ["T800", null],
  band_speed_m_min: [1.24, null], steam_kg_h: [118, 120], steam_valve_pct: [null, null],
  zones: [{ zone: 1, air_temperature_c: [232.1, 232], dew_point_c: [75.4, 75.5], moisture_pct: [38, 38.2], humidity_ratio: [0.381, 0.384], exhaust_damper_pct: [null, null] }],
  rises: [],
};

describe("the hours", () => {
  const shown = panels(history, HUMIDITY["dew-point"], "us");

  test("have a panel for what is measured and none for what nobody measures", () => {
    expect(shown.map((panel) => panel.title)).toEqual(["Band speed", "Dew point", "Steam", "Air temperature"]);
    expect(shown[1]?.columns[0]?.values[0]).toBeCloseTo(167.72);
  });

  test("are cut to what is shown", () => {
    const times = [0, 30, 60, 90];
    expect(within(times, 20, 60)).toEqual([1, 3]);
    expect(within(times, 0, 90)).toEqual([0, 4]);
    expect(within(times, 100, 200)).toEqual([0, 0]);
    expect(within(times, 31, 59)).toEqual([0, 0]);
  });

  test("go into a file with their units, empty where there is no figure", () => {
    const lines = csv(history, shown, 0, 2).split("\r\n");
    expect(lines[0]).toBe("time,state,product,Band speed (ft/min),Dew point Z1 (°F),Steam (lb/h),Air temperature Z1 (°F)");
    expect(lines[1]).toMatch(/^2026-10-06T12:00:00Z,baking,T800,4.06824,167.72,260.145,449.78$/);
    expect(lines[2]).toMatch(/^2026-10-06T12:00:30Z,gap,,,/);
    expect(csv(history, shown, 1, 2).split("\r\n")).toHaveLength(3);
  });

  test("a cell keeps its commas and quotes, and is no formula in a spreadsheet", () => {
    expect(cell('a "b", c')).toBe('"a ""b"", c"');
    expect(cell("=1+1")).toBe("'=1+1");
    expect(cell("-1.5")).toBe("-1.5");
  });
});
