import type { History } from "../api/line";
import type { Maybe } from "../api/types";
import { convert, measure, type HumidityQuantity, type Quantity } from "../figures/units";
import type { UnitSystem } from "../state/preferences";

/** A series over time, in the units wanted. */
export interface Column {
  label: string;
  short: string;
  quantity: Quantity;
  values: (number | null)[];
  /** Its zone; none for a figure of the whole line. */
  zone: number | null;
}

/** Columns that are drawn in one panel. */
export interface Panel {
  title: string;
  unit: string;
  places: number;
  columns: Column[];
}

/** The panels of a stretch of time; a quantity that nobody measures has none. */
export function panels(history: History, humidity: { quantity: HumidityQuantity; name: string }, units: UnitSystem): Panel[] {
  const turn = (values: Maybe<number>[], quantity: Quantity) => values.map((value) => convert(value, quantity, units));
  const whole = (title: string, quantity: Quantity, values: Maybe<number>[]): Panel => ({
    title, ...unitOf(quantity, units), columns: [{ label: title, short: "", quantity, zone: null, values: turn(values, quantity) }],
  });
  const byZone = (title: string, quantity: HumidityQuantity | "air_temperature_c" | "exhaust_damper_pct"): Panel => ({
    title, ...unitOf(quantity, units),
    columns: history.zones.map((zone) => ({
      label: `Zone ${zone.zone}`, short: `Z${zone.zone}`, quantity, zone: zone.zone, values: turn(zone[quantity], quantity),
    })),
  });
  return [
    whole("Band speed", "band_speed_m_min", history.band_speed_m_min),
    byZone(humidity.name, humidity.quantity),
    whole("Steam", "steam_kg_h", history.steam_kg_h),
    whole("Steam valve", "exhaust_damper_pct", history.steam_valve_pct),
    byZone("Exhaust dampers", "exhaust_damper_pct"),
    byZone("Air temperature", "air_temperature_c"),
  ]
    .map((panel) => ({ ...panel, columns: panel.columns.filter((column) => column.values.some((value) => value !== null)) }))
    .filter((panel) => panel.columns.length > 0);
}

function unitOf(quantity: Quantity, units: UnitSystem): { unit: string; places: number } {
  const { unit, places } = measure(quantity, units);
  return { unit, places };
}

/** First and last place (exclusive) of the times from `from` to `to`, ms. */
export function within(times: number[], from: number, to: number): [number, number] {
  const first = times.findIndex((time) => time >= from);
  const last = times.findLastIndex((time) => time <= to);
  return first < 0 || last < first ? [0, 0] : [first, last + 1];
}
