import { describe, expect, test } from "vitest";
import { ago, Clock, stretch } from "./clock";
import { bytes, count, counted, decimals, money, NO_FIGURE, range, signed, typed } from "./number";
import { beyond, placeInBand, sideOf } from "./side";
import { figure, tonnes, withUnit } from "./units";

describe("figures", () => {
  test("carry as many decimals as wanted, a true minus, and no minus before zero", () => {
    expect(decimals(12.345, 1)).toBe("12.3");
    expect(decimals(-0.6, 1)).toBe("\u22120.6");
    expect(decimals(-0.04, 1)).toBe("0.0");
    expect(signed(0.7, 1)).toBe("+0.7");
    expect(signed(0.04, 1)).toBe("0.0");
  });

  test("that nobody has are a dash, never 0", () => {
    for (const none of [null, undefined, Number.NaN, Number.POSITIVE_INFINITY]) expect(decimals(none, 1)).toBe(NO_FIGURE);
    expect(range(4.1, null, 1)).toBe(NO_FIGURE);
    expect(range(4.1, 5.7, 1)).toBe("4.1 to 5.7");
    expect(withUnit(null, "air_temperature_c", "us")).toBe(`${NO_FIGURE}\u00a0°F`);
  });

  test("that are large stay readable", () => {
    expect(count(1284310)).toBe("1\u202f284\u202f310");
    expect(count(999)).toBe("999");
    expect([0, 1, 1200].map((number) => counted(number, "shift"))).toEqual(["0 shifts", "1 shift", "1\u202f200 shifts"]);
    expect(count(-1284310)).toBe("\u22121\u202f284\u202f310");
    expect(count(-128431)).toBe("\u2212128\u202f431");
    expect(bytes(0)).toBe("0 bytes");
    expect(bytes(3_240_000_000)).toBe("3.2 GB");
    expect(bytes(512_300)).toBe("512 kB");
  });
});

test("money carries its currency, and is a dash where nobody has configured prices", () => {
  expect(money(12840.4, "GBP")).toBe("12\u202f840\u00a0GBP");
  expect(money(-1234.5, "EUR", 2)).toBe("\u22121\u202f234.50\u00a0EUR");
  expect(money(3, null, 1)).toBe("3.0");
  expect(money(null, "GBP")).toBe(NO_FIGURE);
});

test("a number is typed with a point or a comma, and nothing is none", () => {
  expect([" 1.42", "1,42"].map(typed)).toEqual([1.42, 1.42]);
  expect(["", " ", "fast", "1.2.3"].map(typed)).toEqual([Number.NaN, Number.NaN, Number.NaN, Number.NaN]);
});

describe("units", () => {
  // By the definitions of NIST SP 811: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, °F = °C · 9/5 + 32.
  test("of the United States", () => {
    expect(figure(100, "air_temperature_c", "us")).toBe("212");
    expect(figure(0.3048, "band_speed_m_min", "us")).toBe("1.00");
    expect(figure(45.359237, "steam_kg_h", "us")).toBe("100");
    expect(figure(10, "temperature_step_c", "us")).toBe("18");
    expect(figure(41.8, "moisture_pct", "us")).toBe("41.8");
    // 1 short ton = 2000 lb = 907.18474 kg: less energy goes into one than into a metric ton.
    expect(figure(tonnes(907.18474), "mass_t", "us")).toBe("1.00");
    expect(figure(400, "energy_kwh_t", "us")).toBe("363");
    expect(figure(45.359237, "mass_kg", "us")).toBe("100");
    expect(figure(tonnes(null), "mass_t", "us")).toBe(NO_FIGURE);
    // 1 oz/ft² = 28.349523125 g / 0.09290304 m².
    expect(figure(305.15, "condensate_g_m2", "us")).toBe("1.00");
  });

  test("of the metric system", () => {
    expect(withUnit(0.1503, "humidity_ratio", "metric")).toBe("150\u00a0g/kg");
    expect(withUnit(1.314, "band_speed_m_min", "metric")).toBe("1.31\u00a0m/min");
  });
});

describe("a figure against its band", () => {
  test("lies on one side of it, or cannot be judged", () => {
    expect(sideOf(6.2, 4.1, 5.7)).toBe("above");
    expect(sideOf(5.7, 4.1, 5.7)).toBe("within");
    expect(sideOf(3.9, 4.1, 5.7)).toBe("below");
    expect(sideOf(6.2, null, 5.7)).toBe("unjudged");
  });

  test("has a distance from it and a place in it", () => {
    expect(beyond(6.2, 4.1, 5.7)).toBeCloseTo(0.5);
    expect(beyond(3.9, 4.1, 5.7)).toBeCloseTo(-0.2);
    expect(beyond(5, 4.1, 5.7)).toBe(0);
    expect(placeInBand(5.7, 4.1, 5.7)).toBeCloseTo(1);
    expect(placeInBand(5, 5, 5)).toBeNull();
  });
});

describe("the clock on the wall", () => {
  const london = (hours: "24" | "12") => new Clock("Europe/London", hours);

  test("follows the site across the end of summer time", () => {
    expect(london("24").time("2026-10-25T00:30:00Z")).toBe("01:30");
    expect(london("24").time("2026-10-25T01:30:00Z")).toBe("01:30");
    expect(london("24").time("2026-10-25T02:30:00Z")).toBe("02:30");
  });

  test("counts to 24 or to 12", () => {
    expect(london("24").time("2026-01-05T00:05:00Z")).toBe("00:05");
    expect(london("12").time("2026-01-05T00:05:00Z").toLowerCase()).toBe("12:05 am");
    expect(london("12").time("2026-01-05T13:05:00Z").toLowerCase()).toBe("1:05 pm");
  });

  test("names the day when it is another", () => {
    const now = "2026-10-06T13:31:10Z";
    expect(london("24").moment("2026-10-06T13:02:00Z", now)).toBe("14:02");
    expect(london("24").moment("2026-10-05T13:02:00Z", now)).toBe("Mon 5 Oct, 14:02");
    expect(london("24").isoDate("2026-10-05T23:30:00Z")).toBe("2026-10-06");
  });

  test("keeps to the offset of the service where no zone is told", () => {
    const status = { now: "2026-10-06T14:31:10+01:00", time_zone: null } as Parameters<typeof Clock.of>[0];
    expect(Clock.of(status, "24").time("2026-10-06T13:02:00Z")).toBe("14:02");
    expect(Clock.of({ ...status, time_zone: "No/Where" }, "24").time("2026-10-06T13:02:00Z")).toBe("14:02");
  });

  test("tells stretches of time in words", () => {
    expect([40e3, 12 * 60e3, 3 * 3600e3 + 5 * 60e3, 2 * 3600e3, 50 * 3600e3].map(stretch)).toEqual(["40 s", "12 min", "3 h 5 min", "2 h", "2 days"]);
    expect(ago("2026-10-06T13:02:00Z", "2026-10-06T13:45:00Z")).toBe("43 min ago");
  });
});

test("what the wall shows is a moment, also on the days on which the clocks change", () => {
  const london = new Clock("Europe/London", "24");
  expect(london.instant("2026-10-25")).toBe("2026-10-24T23:00:00.000Z");
  expect(london.instant("2026-10-26")).toBe("2026-10-26T00:00:00.000Z");
  expect(london.instant("2026-03-29T14:02")).toBe("2026-03-29T13:02:00.000Z");
  // At three in New York the clocks have gone back an hour; at three UTC they have not.
  expect(new Clock("America/New_York", "24").instant("2026-11-01T03:00:10")).toBe("2026-11-01T08:00:10.000Z");
  expect(new Clock("+05:30", "24").instant("2026-10-06T05:30")).toBe("2026-10-06T00:00:00.000Z");
  expect(london.instant("2026-13-06")).toBeNull();
  expect(london.instant("")).toBeNull();
});
