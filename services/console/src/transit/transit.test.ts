import { describe, expect, test } from "vitest";
import type { TransitRun } from "../api/transit";
import { lay, minutesAt } from "./along";
import { guessColumns, places, readHeader } from "./logger-header";

describe("a logger's file", () => {
  test("tells its columns, whatever stands between them", () => {
    expect(readHeader("\uFEFFtime,air_temperature,dew_point\r\n2026-11-02T06:00:00Z,31.2,18\r\n")).toEqual({
      separator: ",", columns: ["time", "air_temperature", "dew_point"], first: ["2026-11-02T06:00:00Z", "31.2", "18"],
    });
    expect(readHeader("Stamp;Air °F;% vol\n1;2,5;3")).toMatchObject({ separator: ";", columns: ["Stamp", "Air °F", "% vol"], first: ["1", "2,5", "3"] });
    expect(readHeader("t\tT\trh")?.separator).toBe("\t");
  });

  test("without a header has none", () => {
    expect(readHeader("")).toBeNull();
    expect(readHeader("a picture")).toBeNull();
    expect(readHeader(",,\n1,2,3")).toBeNull();
  });

  test("lets its columns be guessed by their names, or by their order", () => {
    expect(guessColumns(["dew_point", "air_temperature", "time"])).toEqual({ time: "time", temperature: "air_temperature", humidity: "dew_point", kind: "dew-point", unit: "degC" });
    expect(guessColumns(["Stamp", "Air °F", "% vol"])).toEqual({ time: "Stamp", temperature: "Air °F", humidity: "% vol", kind: "moisture", unit: "degF" });
    expect(guessColumns(["time", "dew_degC", "air_degC"])).toMatchObject({ temperature: "air_degC", humidity: "dew_degC" });
    expect(guessColumns(["a", "b", "c"])).toEqual({ time: "a", temperature: "b", humidity: "c", kind: "dew-point", unit: "degC" });
  });

  test("the places of injectors are numbers, in m on the wire", () => {
    expect(places("0.3, 0.6;0.9", (place) => place)).toBe("0.3,0.6,0.9");
    expect(places("10 20", (place) => place * 0.3048)).toBe("3.048,6.096");
    expect(places(" ", (place) => place)).toBe("");
    expect(places("0.3, b", (place) => place)).toBeNull();
  });
});

describe("a run on its zones", () => {
  const point = (metre: number, seconds: number) => ({ metre, seconds, temperature_c: 200, moisture_pct: 10 });
  const run = {
    band_speed_m_min: 2,
    zones: [{ begins_m: 0, ends_m: 4 }, { begins_m: 4, ends_m: 10 }],
    // The band stood for a minute at 3 m.
    profile: [point(1, 30), point(3, 90), point(3, 150), point(5, 210)],
  } as unknown as TransitRun;

  test("is laid by place", () => {
    expect(lay(run, "place")).toEqual({ borders: [0, 4, 10], points: [1, 3, 3, 5] });
  });

  test("and by time, with a border where the logger passed it", () => {
    expect(minutesAt(run, 0)).toBe(0);
    expect(minutesAt(run, 2)).toBe(1);
    expect(minutesAt(run, 4)).toBe(3);
    // It ended at 5 m: the other 5 m take two and a half minutes at the mean speed.
    expect(minutesAt(run, 10)).toBeCloseTo(6);
    expect(lay(run, "time")).toEqual({ borders: [0, 3, 6], points: [0.5, 1.5, 2.5, 3.5] });
  });
});
