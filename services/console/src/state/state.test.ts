import { expect, test } from "vitest";
import type { Alert, PlantStatus } from "../api/types";
import type { Lines } from "../api/line";
import { isOld, OLD_AFTER_MS, withAlert, withModel } from "./plant";
import { DEFAULTS, readPreferences } from "./preferences";
import { link, readRoute } from "./route";
import { may } from "./session";

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

test("the plant is shown with the names and lengths of its config", () => {
  const status = { time_zone: null, lines: [{ id: "tunnel-1", product: "T800", zones: [{ zone: 1 }] }, { id: "gone", product: "X", zones: [] }] } as unknown as PlantStatus;
  const model = {
    time_zone: "Europe/London", products: [{ code: "T800", name: "Tin loaf 800 g" }],
    items: [{ id: "tunnel-1", zones: [{ zone: 1, length_m: 7 }] }],
  } as unknown as Lines;
  const shown = withModel(status, model);
  expect(shown.time_zone).toBe("Europe/London");
  expect(shown.lines[0]).toMatchObject({ product_name: "Tin loaf 800 g", zones: [{ length_m: 7 }] });
  expect(shown.lines[1]?.product_name).toBeUndefined();
  expect(withModel(status, null)).toBe(status);
});

test("a role may do what is asked of it or of a lesser one, an unknown role nothing", () => {
  const who = (role: string | null) => ({ name: "Ann", role, open: false });
  expect(may(who("engineer"), "lead")).toBe(true);
  expect(may(who("viewer"), "lead")).toBe(false);
  expect(may(who("owner"), "viewer")).toBe(false);
  expect(may(who(null), "viewer")).toBe(false);
});
