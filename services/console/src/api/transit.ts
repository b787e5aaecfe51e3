// The wire types of a travelling logger's runs through an oven.

import type { Maybe } from "./types";

/** `/transit-runs` */
export interface TransitRunListed {
  id: string;
  line: string;
  product: Maybe<string>;
  entered: string;
  band_speed_m_min: number;
  /** Whether it reached the last zone. */
  is_whole: boolean;
  peak_moisture_pct: Maybe<number>;
  zone3_moisture_pct: Maybe<number>;
  dead_injectors: number;
}

/** `/transit-runs/{id}` */
export interface TransitRun {
  id: string;
  line: string;
  product: Maybe<string>;
  entered: string;
  band_speed_m_min: number;
  /** Taken from the store, not given by whoever brought the run. */
  speed_is_stored: boolean;
  is_whole: boolean;
  peak: Maybe<{ metre: number; seconds: number; zone: number; moisture_pct: number }>;
  drop_1_to_2_pct: Maybe<number>;
  zone3_to_peak_pct: Maybe<number>;
  steam_exposure_s: Maybe<number>;
  /** What the surface of the dough met: computed, not measured. */
  surface: Maybe<{ wetted_s: number; condensate_g_m2: number; gelatinised_while_wet: boolean }>;
  injectors: Injector[];
  normal: Maybe<string>;
  zones: TransitZone[];
  profile: TransitPoint[];
  /** What could not be told, and why. */
  missing: string[];
}

export interface Injector {
  metre: number;
  rise_pct: Maybe<number>;
  /** None where nobody can tell. */
  works: Maybe<boolean>;
}

/** One zone: the logger in its middle third, the fixed sensors meanwhile, and the normal at this speed. */
export interface TransitZone {
  begins_m: number;
  ends_m: number;
  moisture_pct: Maybe<number>;
  temperature_c: Maybe<number>;
  sensor_moisture_pct: Maybe<number>;
  sensor_temperature_c: Maybe<number>;
  normal_low_pct: Maybe<number>;
  normal_pct: Maybe<number>;
  normal_high_pct: Maybe<number>;
}

export interface TransitPoint {
  metre: number;
  seconds: number;
  temperature_c: number;
  moisture_pct: Maybe<number>;
}

/** What an upload gives: the run, and what of the file could not be read. */
export interface TransitUploaded {
  run: TransitRun;
  left_out: Maybe<{ rows: number; first: string }>;
}

/** `/transit-runs/compare` */
export interface TransitComparison {
  before: TransitRun;
  after: TransitRun;
  /** Of the same oven and product. */
  alike: boolean;
  rows: { what: string; unit: string; before: Maybe<number>; after: Maybe<number>; change: Maybe<number> }[];
}
