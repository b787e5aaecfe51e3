// The wire types of energy: what a line used, what it made of it, and whether that is less than before.

import type { Maybe } from "./types";

export const PERIODS = ["shift", "day", "month", "product"] as const;
/** What a record is of. */
export type Period = (typeof PERIODS)[number];

/** `/energy/{line}` */
export interface EnergyAccount {
  line: string;
  by: Period;
  records: EnergyRecord[];
  /** All of the period together. */
  whole: EnergyRecord;
  baseline: Maybe<Baseline>;
  saving: Maybe<Saving>;
  /** What the line lacks, what cannot be told without it, and what to write. */
  missing: { lacks: string; without: string; write: string }[];
  factors: Factors;
  caution: string;
}

export interface EnergyRecord {
  period: string;
  products: string;
  starts: string;
  ends: string;
  baking_h: number;
  idle_h: number;
  good_kg: Maybe<number>;
  evaporated_kg: Maybe<number>;
  gas_m3: Maybe<number>;
  gas_kwh_gross: Maybe<number>;
  gas_kwh_net: Maybe<number>;
  electricity_kwh: Maybe<number>;
  steam_kg: Maybe<number>;
  steam_kwh: Maybe<number>;
  energy_kwh: Maybe<number>;
  idle_kwh: Maybe<number>;
  /** The energy performance indicator; it also falls when product leaves wetter, so it is never shown without moisture. */
  kwh_per_t: Maybe<number>;
  peak_moisture_pct: Maybe<number>;
  zone3_moisture_pct: Maybe<number>;
  band_speed_m_min: Maybe<number>;
  cost: Maybe<number>;
  co2_kg: Maybe<number>;
  over_steaming_kg: Maybe<number>;
  over_steaming_kwh: Maybe<number>;
  over_steaming_cost: Maybe<number>;
  excess_moisture_kg: Maybe<number>;
  /** The zone that holds the most of it. */
  excess_moisture_zone?: Maybe<number>;
  excess_moisture_kwh: Maybe<number>;
  excess_moisture_cost: Maybe<number>;
  coverage_pct: number;
  expected_kwh: Maybe<number>;
  saving_kwh: Maybe<number>;
  cusum_kwh: Maybe<number>;
}

/** The energy baseline (EnB), or why the records give none: then it has no figures. */
export interface Baseline {
  /** First local date, and the first one that is no longer part of it. */
  from: string;
  to: string;
  refused: Maybe<string>;
  constant_kwh: Maybe<number>;
  variables: { name: string; unit: string; kwh_per_unit: number; error_kwh_per_unit: number }[];
  left_out: string[];
  records: Maybe<number>;
  r2: Maybe<number>;
  cv_rmse_pct: Maybe<number>;
  nmbe_pct: Maybe<number>;
}

export interface Saving {
  kwh: number;
  /** Half-width of the 95 % interval. */
  uncertainty_kwh: number;
  share_pct: Maybe<number>;
  is_certain: boolean;
  expected_kwh: number;
  actual_kwh: number;
  shifts: number;
  not_compared: number;
  /** Where the cumulative sum turned. */
  turn: Maybe<{ date: string; shift: string; before_kwh: number; after_kwh: number }>;
  beyond: { variable: string; shifts: number }[];
}

/** What energy is priced and weighed with, and on which basis. */
export interface Factors {
  currency: Maybe<string>;
  gas_kwh_per_m3: Maybe<number>;
  gas_basis: Maybe<string>;
  gas_per_kwh: Maybe<number>;
  electricity_per_kwh: Maybe<number>;
  gas_co2_kg_per_kwh: Maybe<number>;
  gas_co2_source: Maybe<string>;
  electricity_co2_kg_per_kwh: Maybe<number>;
  electricity_co2_source: Maybe<string>;
  boiler_efficiency_pct: Maybe<number>;
  useful_steam_s: Maybe<number>;
}
