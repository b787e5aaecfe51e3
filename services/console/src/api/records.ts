// The wire types of what is kept: alerts with their history, shifts, normals, signals, the store.

import type { Alert, AlertState, Maybe } from "./types";

/** `/alerts/{id}` */
export interface AlertRecord {
  alert: Alert;
  history: AlertChange[];
  /** The review behind a rise of the band; none of an alert that is about no rise. */
  review?: Maybe<{ rate_change: Maybe<string>; words: string }>;
}

/** One change of an alert: who did what, when. */
export interface AlertChange {
  time: string;
  who: string;
  what: string;
  state: AlertState;
}

/** `/alerts/rates`: one line in one shift. */
export interface AlertRates {
  line: string;
  date: string;
  shift: string;
  calls: number;
  high: number;
  per_hour: number;
  most_in_ten_minutes: number;
  flood_share: number;
  stale: number;
  missed: string[];
}

/** `/shifts` */
export interface Shift {
  line: string;
  date: string;
  shift: string;
  starts: string;
  ends: string;
  over: boolean;
}

/** `/shifts/{line}/{date}/{shift}` */
export interface ShiftTable {
  shift: Shift;
  rows: ShiftRow[];
}

export interface ShiftRow {
  product: string;
  zone: number;
  running_min: number;
  readings: number;
  coverage_pct: number;
  moisture_pct_mean: Maybe<number>;
  moisture_pct_p05: Maybe<number>;
  moisture_pct_p50: Maybe<number>;
  moisture_pct_p95: Maybe<number>;
  dew_point_c_mean: Maybe<number>;
  humidity_ratio_mean: Maybe<number>;
  air_temperature_c_mean: Maybe<number>;
  exhaust_damper_pct_mean: Maybe<number>;
  band_speed_m_min_mean: Maybe<number>;
  band_speed_m_min_max: Maybe<number>;
  bake_time_min_mean: Maybe<number>;
  peak_zone: Maybe<number>;
  drop_1_to_2_pct: Maybe<number>;
  zone3_to_peak_pct: Maybe<number>;
  normal_id: Maybe<string>;
  departure: Maybe<number>;
  alerts: number;
}

/** `/normals` */
export interface Normal {
  id: string;
  line: string;
  product: string;
  version: number;
  /** `draft`, `approved` or `retired`. */
  standing: string;
  by: Maybe<string>;
  at: Maybe<string>;
  learned_from: string;
  learned_to: string;
  hours: number;
  runs: number;
  windows_used: number;
  windows_left_out: number;
  slowest_m_min: number;
  fastest_m_min: number;
  rises_learned_from: number;
  ways_of_running_pct: number[];
  at_speeds: NormalSpeed[];
}

export interface NormalSpeed {
  speed_m_min: number;
  zones: { zone: number; moisture_pct: Band; air_temperature_c?: Maybe<Band> }[];
}

export interface Band {
  usual: number;
  low: number;
  high: number;
}

/** `/normals/diff` */
export interface NormalDifference {
  at: { speed_m_min: number; zones: ZoneChange[] }[];
}

export interface ZoneChange {
  zone: number;
  moisture_pct: BandChange;
  air_temperature_c?: Maybe<BandChange>;
}

export interface BandChange {
  before: Band;
  after: Band;
  change: number;
  outside_band_before: boolean;
}

/** `/signals` */
export interface Signal {
  tag: string;
  topic: string;
  quantity: string;
  unit: string;
  line: string;
  zone: Maybe<number>;
  value: Maybe<number>;
  text: Maybe<string>;
  time: Maybe<string>;
  age_s: Maybe<number>;
  quality: Maybe<string>;
  max_age_s: Maybe<number>;
  /** `fresh`, `old` or `never`. */
  state: string;
}

/** `/gaps` */
export interface Gap {
  began: string;
  ended: string;
  cause: string;
  lost: Maybe<number>;
}

/** `/store` */
export interface StoreSize {
  readings: number;
  oldest: Maybe<string>;
  newest: Maybe<string>;
  hot_readings: number;
  hot_bytes: number;
  segments: number;
  sealed_readings: number;
  sealed_bytes: number;
  bytes_per_sealed_reading: Maybe<number>;
  outbox: number;
}

/** `/quarantine` */
export interface Quarantine {
  counts: { reason: string; count: number }[];
  items: QuarantinedPayload[];
}

export interface QuarantinedPayload {
  id: number;
  received: string;
  topic: string;
  payload: string;
  bytes: number;
  reason: string;
  detail: string;
}

/** `/audit` */
export interface AuditEntry {
  id: number;
  time: string;
  who: string;
  what: string;
}

/** `/session` */
export interface Session {
  /** Who is signed in. */
  name: Maybe<string>;
  role: Maybe<string>;
  /** Nobody has to sign in. */
  open: boolean;
}
