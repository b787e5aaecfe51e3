// The wire types of /api/v1, as crates/web writes them. Times are RFC 3339; a figure that nobody has is null or absent.

export type Maybe<T> = T | null | undefined;

/** A page of a longer list. */
export interface Page<T> {
  items: T[];
  next?: string | null;
}

/** The plant and the service at one moment: `/status`, and the event `status` of `/live`. */
export interface PlantStatus {
  site: string;
  name: string;
  version: string;
  /** Plant time with the offset of the site. */
  now: string;
  /** IANA name of the site's time zone, where the service tells it. */
  time_zone?: Maybe<string>;
  ready: boolean;
  problems: string[];
  broker: BrokerStatus;
  store: StoreStatus;
  lines: LineStatus[];
  alerts: Alert[];
  suppressions: Suppression[];
  shifts: ShiftLink[];
}

export interface BrokerStatus {
  connected: boolean;
  protocol: string;
  since: Maybe<string>;
  readings_per_s: number;
  readings_total: number;
  late: number;
  rejected: { reason: string; count: number }[];
}

export interface StoreStatus {
  readings: number;
  oldest: Maybe<string>;
  newest?: Maybe<string>;
  hot_bytes: number;
  segments: number;
  sealed_bytes: number;
  free_bytes: Maybe<number>;
  outbox: number;
  bytes_per_reading?: Maybe<number>;
}

export type Load = "normal" | "rising" | "overloaded" | "unknown";

export interface LineStatus {
  id: string;
  name: string;
  state: string;
  load: Load;
  load_since: Maybe<string>;
  product: Maybe<string>;
  product_name?: Maybe<string>;
  band_speed_m_min: Maybe<number>;
  band_speed_changed?: Maybe<SpeedChanged>;
  normal: Maybe<string>;
  newest: Maybe<string>;
  newest_age_s?: Maybe<number>;
  zones: ZoneStatus[];
}

export interface SpeedChanged {
  at: string;
  from_m_min: number;
  to_m_min: number;
}

export interface ZoneStatus {
  zone: number;
  length_m?: Maybe<number>;
  moisture_pct: Maybe<number>;
  expected_pct: Maybe<number>;
  low_pct: Maybe<number>;
  high_pct: Maybe<number>;
  air_temperature_c: Maybe<number>;
  dew_point_c: Maybe<number>;
  exhaust_damper_pct: Maybe<number>;
}

export interface Suppression {
  line: string;
  kind: string;
  since: string;
  until: Maybe<string>;
  reason: string;
  by: string;
}

export interface ShiftLink {
  line: string;
  date: string;
  shift: string;
  href: string;
}

export type AlertState =
  | "unacknowledged" | "acknowledged" | "shelved" | "out-of-service"
  | "returned-unacknowledged" | "returned-acknowledged" | "returned-suppressed";
export type Priority = "high" | "medium" | "low";

/** An alert, whole, as it is published on MQTT. */
export interface Alert {
  id: string;
  line: string;
  kind: string;
  finding?: Maybe<string>;
  priority: Priority;
  state: AlertState;
  product?: Maybe<string>;
  began?: Maybe<string>;
  raised: string;
  ended?: Maybe<string>;
  speed?: Maybe<{ before: number; after: number; rise_pct?: number; unit: string }>;
  zones?: EvidenceZone[];
  confidence?: Maybe<number>;
  normal?: Maybe<string>;
  message: string;
  advice?: Advice[];
  caution?: Maybe<string>;
  acknowledged_by?: Maybe<string>;
  acknowledged_at?: Maybe<string>;
  suppression?: Maybe<{ since: string; until: Maybe<string>; reason: string; by: string }>;
  signals?: string[];
  comments?: { by: string; at: string; text: string }[];
}

/** What a zone did, % vol. */
export interface EvidenceZone {
  zone: number;
  before?: Maybe<number>;
  observed?: Maybe<number>;
  expected?: Maybe<number>;
  low?: Maybe<number>;
  high?: Maybe<number>;
  unit?: string;
  z?: Maybe<number>;
}

export interface Advice {
  step: string;
  text?: Maybe<string>;
  zone?: Maybe<number>;
  to_pct?: Maybe<number>;
  to_m_min?: Maybe<number>;
  by_c?: Maybe<number>;
  extra_cost_per_h?: Maybe<number>;
}

/** RFC 9457. */
export interface ProblemDetails {
  type?: string;
  title?: string;
  status?: number;
  detail?: string;
}
