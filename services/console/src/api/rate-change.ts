// The wire types of rate changes: the review of one, and its record.

import type { Maybe } from "./types";

/** `/rate-changes/review`: what a water balance, learned from history, foretells of a band speed. */
export interface Review {
  balance: string;
  normal: Maybe<string>;
  speed_m_min: number;
  bake_time_min: number;
  usual_speed_m_min: number;
  /** How far the speed lies outside of the speeds in the balance's history, %. */
  outside_history_pct: number;
  /** The same for the normal. */
  outside_normal_pct: Maybe<number>;
  /** At the usual speed, as it usually runs. */
  usual: Foretold;
  /** At the speed asked for, nothing touched but the band. */
  untouched: Foretold;
  /** At the speed asked for, dampers and steam as crews have set them before. */
  practised: Foretold;
  /** What the learned normal says of that speed: an answer independent of the balance. */
  by_normal: Maybe<ForetoldZone[]>;
  ceilings: Ceiling[];
  steam_exposure_s: Maybe<number>;
  carried: Carried;
  remedies: Remedy[];
  /** What the history cannot tell. */
  untold: string[];
  not_configured: string[];
  currency: Maybe<string>;
  caution: string;
}

/** What the zones will hold, and what that takes. */
export interface Foretold {
  speed_m_min: number;
  zones: ForetoldZone[];
  carryover_chance_pct: number;
  bake_loss_pct?: Maybe<number>;
  energy: EnergyTaken;
}

export interface ForetoldZone {
  zone: number;
  moisture_pct: number;
  low_pct: number;
  high_pct: number;
}

export interface EnergyTaken {
  bought_kwh_h: number;
  bought_kwh_t: number;
  good_t_h: number;
  cost_per_h: Maybe<number>;
  margin_per_h: Maybe<number>;
}

/** What a late zone may hold before moisture counts as carried over. */
export interface Ceiling {
  zone: number;
  moisture_pct: number;
  from: string;
}

/** The highest speeds that the oven carries; none where it does not even carry the usual one. */
export interface Carried {
  untouched_m_min: Maybe<number>;
  exhaust_open_m_min: Maybe<number>;
  accepted_chance_pct: number;
}

export interface Remedy {
  kind: string;
  settings: Setting[];
  profile: Foretold;
  /** The same in one zone alone, zone by zone. */
  zones_alone?: ZoneAlone[];
  suffices: boolean;
  further_kwh_h: number;
  lost_t_h: number;
  lost_margin_per_h: Maybe<number>;
  capital: Maybe<number>;
  capital_per_year: Maybe<number>;
  net_gain_per_year: Maybe<number>;
  reason: string;
  caution: string;
}

export interface ZoneAlone {
  setting: Setting;
  /** Moisture of each zone then, % vol. */
  moisture_pct: number[];
  carryover_chance_pct: number;
  suffices: boolean;
  further_kwh_h: number;
}

export interface Setting {
  zone: Maybe<number>;
  /** Of what, with its unit. */
  of: string;
  from: number;
  to: number;
}

export const PARTIES = ["production", "process", "maintenance"] as const;
/** Who has to agree. */
export type Party = (typeof PARTIES)[number];

export type RateChangeState = "proposed" | "agreed" | "made" | "looked-at";

/** `/rate-changes/{line}/{number}` */
export interface RateChange {
  /** Such as `tunnel-1/rate/3`. */
  id: string;
  line: string;
  product: string;
  from_m_min: number;
  to_m_min: number;
  remedy: Maybe<string>;
  reason: string;
  balance: string;
  foretold: ForetoldZone[];
  carryover_chance_pct: number;
  proposed: Signature;
  agreed: { role: Party; signed: Signature }[];
  made: Maybe<Signature>;
  outcome: Maybe<Outcome>;
  state: RateChangeState;
  /** Who still has to agree. */
  not_agreed: Party[];
  /** From when on what came can be held against what was foretold; none until it was made. */
  look_from: Maybe<string>;
}

/** The path of a record: `tunnel-1/rate/3` stands under `/rate-changes/tunnel-1/3`. */
export function recordPath(id: string): string {
  const [line = "", , number = ""] = id.split("/");
  return `/rate-changes/${encodeURIComponent(line)}/${encodeURIComponent(number)}`;
}

export interface Signature {
  by: string;
  at: string;
}

/** What came of a change, a day later. */
export interface Outcome {
  looked: Signature;
  hours: number;
  zones: { foretold: ForetoldZone; came_pct: number; inside: boolean }[];
}
