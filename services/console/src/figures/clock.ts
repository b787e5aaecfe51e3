import type { Maybe, PlantStatus } from "../api/types";
import type { Preferences } from "../state/preferences";
import { NO_FIGURE } from "./number";

/** Writes times as the clock on the bakery's wall shows them, wherever the reader sits. */
export class Clock {
  private readonly zone: string;
  private readonly hour12: boolean;
  /** Not every browser knows an offset as a time zone: there the time is moved and written as UTC. */
  private readonly shiftMs: number;

  /** `zone` is an IANA name or an offset such as `+01:00`. */
  constructor(zone: string, hours: Preferences["hours"]) {
    const offset = /^([+-])(\d{2}):(\d{2})$/.exec(zone);
    this.zone = offset === null ? zone : "UTC";
    this.shiftMs = offset === null ? 0 : (offset[1] === "-" ? -60e3 : 60e3) * (Number(offset[2]) * 60 + Number(offset[3]));
    this.hour12 = hours === "12";
  }

  /** The clock of this plant: its time zone, or the offset in which it tells its time. */
  static of(status: PlantStatus, hours: Preferences["hours"]): Clock {
    const offset = /([+-]\d{2}:\d{2})$/.exec(status.now)?.[1] ?? "UTC";
    return new Clock(isZone(status.time_zone) ? status.time_zone : offset, hours);
  }

  /** `14:02`, or `2:02 pm`. */
  time(at: Maybe<string | number>): string {
    return this.write(at, { hour: this.hour12 ? "numeric" : "2-digit", minute: "2-digit" });
  }

  /** `14:02:31`. */
  seconds(at: Maybe<string | number>): string {
    return this.write(at, { hour: this.hour12 ? "numeric" : "2-digit", minute: "2-digit", second: "2-digit" });
  }

  /** `Tue 6 Oct`. */
  date(at: Maybe<string | number>): string {
    return this.write(at, { weekday: "short", day: "numeric", month: "short" }).replace(",", "");
  }

  /** The time, with the day before it unless it is that of `now`. */
  moment(at: Maybe<string | number>, now: string | number): string {
    if (at === null || at === undefined) return NO_FIGURE;
    return this.date(at) === this.date(now) ? this.time(at) : `${this.date(at)}, ${this.time(at)}`;
  }

  /** `2026-10-06` on the bakery's wall. */
  isoDate(at: string | number): string {
    return new Intl.DateTimeFormat("en-CA", { timeZone: this.zone, year: "numeric", month: "2-digit", day: "2-digit" })
      .format(new Date(new Date(at).getTime() + this.shiftMs));
  }

  private write(at: Maybe<string | number>, options: Intl.DateTimeFormatOptions): string {
    if (at === null || at === undefined) return NO_FIGURE;
    const date = new Date(new Date(at).getTime() + this.shiftMs);
    if (Number.isNaN(date.getTime())) return NO_FIGURE;
    const cycle = this.hour12 ? "h12" : "h23";
    return new Intl.DateTimeFormat("en-GB", { timeZone: this.zone, hourCycle: cycle, ...options }).format(date);
  }
}

function isZone(zone: Maybe<string>): zone is string {
  if (zone === null || zone === undefined || zone === "") return false;
  try {
    new Intl.DateTimeFormat("en", { timeZone: zone });
    return true;
  } catch {
    return false;
  }
}

/** A stretch of time in words: `40 s`, `12 min`, `3 h 5 min`, `2 days`. */
export function stretch(ms: number): string {
  const seconds = Math.max(0, Math.round(ms / 1000));
  if (seconds < 90) return `${seconds} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 90) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`;
  return `${Math.floor(hours / 24)} days`;
}

/** How long ago `at` was at `now`, in words; a dash where nobody knows. */
export function ago(at: Maybe<string>, now: string): string {
  return at === null || at === undefined ? NO_FIGURE : `${stretch(Date.parse(now) - Date.parse(at))} ago`;
}
