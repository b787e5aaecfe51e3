import type { Maybe } from "../api/types";
import type { Humidity, UnitSystem } from "../state/preferences";
import { decimals } from "./number";

/** A physical quantity that the console shows, named by its unit on the wire. */
export type Quantity =
  | "moisture_pct" | "dew_point_c" | "humidity_ratio" | "air_temperature_c" | "exhaust_damper_pct"
  | "band_speed_m_min" | "steam_kg_h" | "length_m" | "temperature_step_c" | "minutes";

/** How a quantity is written: its unit, how many decimals, and how to get there from the wire. */
export interface Measure {
  unit: string;
  places: number;
  from(wire: number): number;
}

const same = (wire: number) => wire;
const times = (factor: number) => (wire: number) => wire * factor;

// Exact by definition: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, °F = °C · 9/5 + 32 (NIST SP 811, appendix B).
const METRIC: Record<Quantity, Measure> = {
  moisture_pct: { unit: "% vol", places: 1, from: same },
  dew_point_c: { unit: "°C", places: 1, from: same },
  humidity_ratio: { unit: "g/kg", places: 0, from: times(1000) },
  air_temperature_c: { unit: "°C", places: 0, from: same },
  exhaust_damper_pct: { unit: "%", places: 0, from: same },
  band_speed_m_min: { unit: "m/min", places: 2, from: same },
  steam_kg_h: { unit: "kg/h", places: 0, from: same },
  length_m: { unit: "m", places: 1, from: same },
  temperature_step_c: { unit: "°C", places: 0, from: same },
  minutes: { unit: "min", places: 1, from: same },
};

const fahrenheit = (wire: number) => (wire * 9) / 5 + 32;
const US: Record<Quantity, Measure> = {
  ...METRIC,
  dew_point_c: { unit: "°F", places: 1, from: fahrenheit },
  humidity_ratio: { unit: "lb/lb", places: 3, from: same },
  air_temperature_c: { unit: "°F", places: 0, from: fahrenheit },
  band_speed_m_min: { unit: "ft/min", places: 2, from: times(1 / 0.3048) },
  steam_kg_h: { unit: "lb/h", places: 0, from: times(1 / 0.45359237) },
  length_m: { unit: "ft", places: 1, from: times(1 / 0.3048) },
  temperature_step_c: { unit: "°F", places: 0, from: times(9 / 5) },
};

export function measure(quantity: Quantity, system: UnitSystem): Measure {
  return (system === "us" ? US : METRIC)[quantity];
}

/** A figure from the wire in the units wanted, none staying none. */
export function convert(value: Maybe<number>, quantity: Quantity, system: UnitSystem): number | null {
  return value === null || value === undefined ? null : measure(quantity, system).from(value);
}

/** The figure without its unit. */
export function figure(value: Maybe<number>, quantity: Quantity, system: UnitSystem): string {
  return decimals(convert(value, quantity, system), measure(quantity, system).places);
}

/** The figure with its unit, held together by a no-break space. */
export function withUnit(value: Maybe<number>, quantity: Quantity, system: UnitSystem): string {
  return `${figure(value, quantity, system)}\u00a0${measure(quantity, system).unit}`;
}

export type HumidityQuantity = "moisture_pct" | "dew_point_c" | "humidity_ratio";

/** The quantity in which a person wants to see humidity. */
export const HUMIDITY: Record<Humidity, { quantity: HumidityQuantity; name: string }> = {
  "moisture": { quantity: "moisture_pct", name: "Moisture by volume" },
  "dew-point": { quantity: "dew_point_c", name: "Dew point" },
  "humidity-ratio": { quantity: "humidity_ratio", name: "Humidity ratio" },
};
