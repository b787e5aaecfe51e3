import type { Figure, Profile } from "../api/line";
import type { Band, Normal, ShiftRow } from "../api/records";

/** What a zone of a shift is held against, % vol. */
export interface Beside {
  zone: number;
  usual: number | null;
  low: number | null;
  high: number | null;
}

const NOTHING: Figure = { observed: null, expected: null, low: null, high: null };

/** The products of a shift with their rows, in the order in which they were told. */
export function byProduct(rows: ShiftRow[]): { product: string; rows: ShiftRow[] }[] {
  return [...new Set(rows.map((row) => row.product))].map((product) => ({ product, rows: rows.filter((row) => row.product === product) }));
}

/** The normal at a speed, between the speeds at which it is told; none outside of them, where it is not known. */
export function normalAt(normal: Normal, speed: number | null | undefined): Beside[] {
  const known = normal.at_speeds.toSorted((a, b) => a.speed_m_min - b.speed_m_min);
  if (speed === null || speed === undefined) return [];
  const above = known.findIndex((one) => one.speed_m_min >= speed);
  const [upper, lower] = [known[above], known[Math.max(above - 1, 0)]];
  if (upper === undefined || lower === undefined || (above === 0 && upper.speed_m_min > speed)) return [];
  const share = upper === lower ? 0 : (speed - lower.speed_m_min) / (upper.speed_m_min - lower.speed_m_min);
  return lower.zones.map((zone) => {
    const other = upper.zones.find((one) => one.zone === zone.zone) ?? zone;
    const between = (pick: (band: Band) => number) => pick(zone.moisture_pct) * (1 - share) + pick(other.moisture_pct) * share;
    return { zone: zone.zone, usual: between((band) => band.usual), low: between((band) => band.low), high: between((band) => band.high) };
  });
}

/** Another shift with the same product: its mean, and the stretch that held 90 of 100 readings. */
export function shiftBeside(rows: ShiftRow[]): Beside[] {
  return rows.map((row) => ({
    zone: row.zone, usual: row.moisture_pct_mean ?? null, low: row.moisture_pct_p05 ?? null, high: row.moisture_pct_p95 ?? null,
  }));
}

/** A shift as a profile, so that it is drawn as the profile of an oven is. */
export function asProfile(line: string, rows: ShiftRow[], beside: Beside[]): Profile {
  const first = rows[0];
  return {
    line, time: null, state: "baking", product: first?.product, band_speed_m_min: first?.band_speed_m_min_mean,
    bake_time_min: first?.bake_time_min_mean, normal: first?.normal_id, extrapolates_pct: null, slowest_m_min: null, fastest_m_min: null,
    zones: rows.map((row) => {
      const held = beside.find((one) => one.zone === row.zone);
      return {
        zone: row.zone, exhaust_damper_pct: row.exhaust_damper_pct_mean, dew_point_c: NOTHING, humidity_ratio: NOTHING,
        moisture_pct: { observed: row.moisture_pct_mean, expected: held?.usual, low: held?.low, high: held?.high },
        air_temperature_c: { ...NOTHING, observed: row.air_temperature_c_mean },
      };
    }),
  };
}
