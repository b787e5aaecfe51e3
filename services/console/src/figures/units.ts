import type { Maybe } from "../api/types";
import type { Humidity, UnitSystem } from "../state/preferences";
import { count, decimals, isFigure } from "./number";

/** A physical quantity that the console shows, named by its unit on the wire. */
export type Quantity =
  | "moisture_pct" | "dew_point_c" | "humidity_ratio" | "air_temperature_c" | "exhaust_damper_pct"
  | "band_speed_m_min" | "steam_kg_h" | "length_m" | "temperature_step_c" | "minutes"
  | "mass_kg" | "mass_t" | "output_t_h" | "energy_kwh_t" | "condensate_g_m2";

/** How a quantity is written: its unit, how many decimals, and how to get there from the wire. */
export interface Measure {
  unit: string;
  places: number;
  from(wire: number): number;
}

const same = (wire: number) => wire;
const times = (factor: number) => (wire: number) => wire * factor;

// Exact by definition: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, 1 short ton = 2000 lb, °F = °C · 9/5 + 32 (NIST SP 811,
// appendix B).
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
  mass_kg: { unit: "kg", places: 0, from: same },
  mass_t: { unit: "t", places: 2, from: same },
  output_t_h: { unit: "t/h", places: 2, from: same },
  energy_kwh_t: { unit: "kWh/t", places: 0, from: same },
  condensate_g_m2: { unit: "g/m²", places: 0, from: same },
};

const SHORT_TON_T = 0.90718474;
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
  mass_kg: { unit: "lb", places: 0, from: times(1 / 0.45359237) },
  mass_t: { unit: "short ton", places: 2, from: times(1 / SHORT_TON_T) },
  output_t_h: { unit: "short ton/h", places: 2, from: times(1 / SHORT_TON_T) },
  energy_kwh_t: { unit: "kWh/short ton", places: 0, from: times(SHORT_TON_T) },
  condensate_g_m2: { unit: "oz/ft²", places: 2, from: times(0.09290304 / 28.349523125) },
};

export function measure(quantity: Quantity, system: UnitSystem): Measure {
  return (system === "us" ? US : METRIC)[quantity];
}

/** A figure from the wire in the units wanted, none staying none. */
export function convert(value: Maybe<number>, quantity: Quantity, system: UnitSystem): number | null {
  return isFigure(value) ? measure(quantity, system).from(value) : null;
}

/** The figure without its unit. */
export function figure(value: Maybe<number>, quantity: Quantity, system: UnitSystem): string {
  const { places } = measure(quantity, system);
  const converted = convert(value, quantity, system);
  return places === 0 ? count(converted) : decimals(converted, places);
}

/** The figure with its unit, held together by a no-break space. */
export function withUnit(value: Maybe<number>, quantity: Quantity, system: UnitSystem): string {
  return `${figure(value, quantity, system)}\u00a0${measure(quantity, system).unit}`;
}

/** A mass from the wire, which tells kg, in the t of `mass_t`. */
export const tonnes = (kg: Maybe<number>): number | null => (isFigure(kg) ? kg / 1000 : null);

export type HumidityQuantity = "moisture_pct" | "dew_point_c" | "humidity_ratio";

/** The quantity in which a person wants to see humidity. */
export const HUMIDITY: Record<Humidity, { quantity: HumidityQuantity; name: string }> = {
  "moisture": { quantity: "moisture_pct", name: "Moisture by volume" },
  "dew-point": { quantity: "dew_point_c", name: "Dew point" },
  "humidity-ratio": { quantity: "humidity_ratio", name: "Humidity ratio" },
};
