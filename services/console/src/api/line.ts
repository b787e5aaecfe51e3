// The wire types of one line: its model, its profile now, its hours.

import type { Maybe } from "./types";

/** `/lines` */
export interface Lines {
  site: string;
  name: string;
  time_zone: string;
  shifts: string[];
  items: LineModel[];
  products: ProductModel[];
}

export interface LineModel {
  id: string;
  name: string;
  firing: string;
  length_m: number;
  zones: { zone: number; length_m: number }[];
}

export interface ProductModel {
  code: string;
  name: string;
  bake_time_min: Maybe<number>;
  max_zone3_moisture_pct: Maybe<number>;
}

/** `/lines/{line}/profile` */
export interface Profile {
  line: string;
  time: Maybe<string>;
  state: string;
  product: Maybe<string>;
  band_speed_m_min: Maybe<number>;
  bake_time_min: Maybe<number>;
  normal: Maybe<string>;
  /** How far the speed lies outside of what was learned, %. */
  extrapolates_pct: Maybe<number>;
  slowest_m_min: Maybe<number>;
  fastest_m_min: Maybe<number>;
  zones: ZoneProfile[];
}

export interface ZoneProfile {
  zone: number;
  moisture_pct: Figure;
  dew_point_c: Figure;
  humidity_ratio: Figure;
  air_temperature_c: Figure;
  exhaust_damper_pct: Maybe<number>;
}

/** What a zone does, beside what its normal expects. */
export interface Figure {
  observed: Maybe<number>;
  expected: Maybe<number>;
  low: Maybe<number>;
  high: Maybe<number>;
}

type Column = Maybe<number>[];

/** `/lines/{line}/history`: columns of equal length. */
export interface History {
  line: string;
  from: string;
  to: string;
  step_s: number;
  time: string[];
  state: string[];
  product: Maybe<string>[];
  band_speed_m_min: Column;
  steam_kg_h: Column;
  steam_valve_pct: Column;
  zones: ZoneHistory[];
  rises: Rise[];
}

export interface ZoneHistory {
  zone: number;
  air_temperature_c: Column;
  dew_point_c: Column;
  moisture_pct: Column;
  humidity_ratio: Column;
  exhaust_damper_pct: Column;
}

export interface Rise {
  began: string;
  before_m_min: number;
  after_m_min: number;
  rise_pct: number;
}
