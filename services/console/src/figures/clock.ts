import type { Maybe, PlantStatus } from "../api/types";
import type { Preferences } from "../state/preferences";
import { NO_FIGURE } from "./number";

/** Writes times as the clock on the bakery's wall shows them, wherever the reader sits. */
export class Clock {
  private readonly zone: string;
  private readonly hour12: boolean;
  /** A formatter is dear to make, and a page writes hundreds of times. */
  private readonly formats = new Map<string, Intl.DateTimeFormat>();
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
    return this.format("en-CA", { year: "numeric", month: "2-digit", day: "2-digit" }).format(new Date(new Date(at).getTime() + this.shiftMs));
  }

  /** The moment at which the wall shows `2026-10-06T14:02`, or at which a date begins there; RFC 3339 UTC, none of what is no time. */
  instant(wall: string): string | null {
    const utc = Date.parse(/^\d{4}-\d{2}-\d{2}$/.test(wall) ? `${wall}T00:00Z` : `${wall}Z`);
    if (Number.isNaN(utc)) return null;
    // The offset at the guess may be that before a change of the clocks; the second look is right.
    const moment = [0, 1].reduce((guess) => utc - this.offsetMs(guess), utc);
    return new Date(moment).toISOString();
  }

  /** How far the wall's clock is ahead of UTC, ms. */
  private offsetMs(at: number): number {
    if (this.shiftMs !== 0) return this.shiftMs;
    const parts = this.format("en-CA", { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23" })
      .formatToParts(new Date(at));
    const part = (type: Intl.DateTimeFormatPartTypes) => Number(parts.find((one) => one.type === type)?.value);
    return Date.UTC(part("year"), part("month") - 1, part("day"), part("hour"), part("minute")) - Math.floor(at / 60e3) * 60e3;
  }

  private write(at: Maybe<string | number>, options: Intl.DateTimeFormatOptions): string {
    if (at === null || at === undefined) return NO_FIGURE;
    const date = new Date(new Date(at).getTime() + this.shiftMs);
    if (Number.isNaN(date.getTime())) return NO_FIGURE;
    return this.format("en-GB", { hourCycle: this.hour12 ? "h12" : "h23", ...options }).format(date);
  }

  private format(locale: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
    const key = locale + JSON.stringify(options);
    const known = this.formats.get(key) ?? new Intl.DateTimeFormat(locale, { timeZone: this.zone, ...options });
    this.formats.set(key, known);
    return known;
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
