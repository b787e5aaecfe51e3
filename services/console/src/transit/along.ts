import type { TransitRun } from "../api/transit";

/** What the width of a picture counts: metres from the mouth, or minutes since the logger entered. */
export type Along = "place" | "time";

/** Where a run's zones begin and end and where its points lie, in m or min. */
export interface Laid {
  borders: number[];
  points: number[];
}

/** Lays a run on its zones by place or by time. */
export function lay(run: TransitRun, along: Along): Laid {
  const metres = [...run.zones.map((zone) => zone.begins_m), run.zones.at(-1)?.ends_m ?? 0];
  return along === "place"
    ? { borders: metres, points: run.profile.map((point) => point.metre) }
    : { borders: metres.map((metre) => minutesAt(run, metre)), points: run.profile.map((point) => point.seconds / 60) };
}

/** When the logger passed a place, min after it entered; beyond what it showed, by the mean speed of the band. */
export function minutesAt(run: TransitRun, metre: number): number {
  const { profile } = run;
  const next = profile.findIndex((point) => point.metre >= metre);
  const [after, before] = [profile[next], profile[next - 1] ?? { metre: 0, seconds: 0 }];
  if (after === undefined) {
    const last = profile.at(-1) ?? { metre: 0, seconds: 0 };
    return last.seconds / 60 + (metre - last.metre) / run.band_speed_m_min;
  }
  const share = after.metre === before.metre ? 0 : (metre - before.metre) / (after.metre - before.metre);
  return (before.seconds + share * (after.seconds - before.seconds)) / 60;
}
