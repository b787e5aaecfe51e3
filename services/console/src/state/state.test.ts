import { expect, test } from "vitest";
import type { Alert, PlantStatus } from "../api/types";
import { isOld, OLD_AFTER_MS, withAlert } from "./plant";
import { DEFAULTS, readPreferences } from "./preferences";
import { link, readRoute } from "./route";

test("an address leads to its page and back, whatever its parts are called", () => {
  const address = link(["ovens", "tunnel 1/west"], { hours: "8" });
  expect(address).toBe("#/ovens/tunnel%201%2Fwest?hours=8");
  const route = readRoute(address);
  expect(route.parts).toEqual(["ovens", "tunnel 1/west"]);
  expect(route.query.get("hours")).toBe("8");
  expect(readRoute("").parts).toEqual([]);
  expect(readRoute("#/ovens/%E0%A4%A").parts).toEqual(["ovens", "%E0%A4%A"]);
});

test("preferences that are not understood become the defaults", () => {
  expect(readPreferences(null)).toEqual(DEFAULTS);
  expect(readPreferences("{")).toEqual(DEFAULTS);
  expect(readPreferences('{"units":"us","hours":"25","name":7}')).toEqual({ ...DEFAULTS, units: "us" });
});

test("what is shown is old when the connection is lost or nothing is heard", () => {
  const plant = { status: {} as PlantStatus, heard: 1000, connected: true };
  expect(isOld(plant, 1000 + OLD_AFTER_MS)).toBe(false);
  expect(isOld(plant, 1001 + OLD_AFTER_MS)).toBe(true);
  expect(isOld({ ...plant, connected: false }, 1000)).toBe(true);
  expect(isOld({ status: null, heard: null, connected: false }, 1000)).toBe(false);
});

test("a changed alert takes its place, a new one stands first", () => {
  const alert = (id: string, message = "") => ({ id, message }) as Alert;
  const status = { alerts: [alert("a"), alert("b")] } as PlantStatus;
  expect(withAlert(status, alert("b", "changed")).alerts.map(({ id, message }) => id + message)).toEqual(["a", "bchanged"]);
  expect(withAlert(status, alert("c")).alerts.map(({ id }) => id)).toEqual(["c", "a", "b"]);
});
