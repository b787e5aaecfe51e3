import type { ZoneStatus } from "../api/types";
import { placeInBand } from "../figures/side";

// The drawing runs from 0 to 1000 along the band and from 0 to 100 downwards. The normal's band is a straight ribbon
// across its middle, whatever it is in % vol: so a zone 3 that is two too wet stands out as far as a zone 1 that is
// ten too wet.
export const WIDTH = 1000;
export const RIBBON_TOP = 36;
export const RIBBON_BOTTOM = 64;
const MIDDLE = 50;
const HALF_BAND = (RIBBON_BOTTOM - RIBBON_TOP) / 2;
const FARTHEST = 46;

/** A zone as a stretch of the drawing. */
export interface Stretch {
  zone: ZoneStatus;
  from: number;
  to: number;
  /** Height of the moisture; none where it cannot be held against a normal. */
  y: number | null;
}

/** The zones one behind the other, as long as they are. Zones whose length nobody told are alike. */
export function stretches(zones: ZoneStatus[]): Stretch[] {
  const lengths = zones.map((zone) => (zone.length_m && zone.length_m > 0 ? zone.length_m : null));
  const known = lengths.every((length) => length !== null);
  const whole = known ? lengths.reduce((sum, length) => sum + (length ?? 0), 0) : zones.length;
  let from = 0;
  return zones.map((zone, index) => {
    const to = from + ((known ? lengths[index] ?? 1 : 1) / whole) * WIDTH;
    const stretch = { zone, from, to, y: height(zone) };
    from = to;
    return stretch;
  });
}

function height(zone: ZoneStatus): number | null {
  const place = placeInBand(zone.moisture_pct, zone.low_pct, zone.high_pct);
  if (place === null) return null;
  return MIDDLE - Math.min(Math.max(place * HALF_BAND, -FARTHEST), FARTHEST);
}

/** The moisture as one line along the band, flat within a zone; broken where a zone has none. */
export function moistureLine(along: Stretch[]): string {
  let path = "";
  let drawing = false;
  along.forEach((stretch, index) => {
    if (stretch.y === null) {
      drawing = false;
      return;
    }
    const reach = (stretch.to - stretch.from) * 0.22;
    const begin = drawing ? stretch.from + reach : stretch.from;
    const next = along[index + 1];
    const end = next !== undefined && next.y !== null ? stretch.to - reach : stretch.to;
    if (drawing) {
      const edge = stretch.from;
      path += `C${edge} ${previousHeight(along, index)} ${edge} ${stretch.y} ${begin} ${stretch.y}`;
    } else {
      path += `M${begin} ${stretch.y}`;
    }
    path += `H${end}`;
    drawing = true;
  });
  return path;
}

function previousHeight(along: Stretch[], index: number): number {
  return along[index - 1]?.y ?? MIDDLE;
}

/** The same line closed along the ribbon's edge, to be filled where it lies beyond it. */
export function beyondArea(along: Stretch[], edge: number): string {
  // A zone without a figure lies on the middle, where nothing is filled.
  const whole = along.map((stretch) => ({ ...stretch, y: stretch.y ?? MIDDLE }));
  const first = whole[0];
  if (first === undefined) return "";
  return `${moistureLine(whole)}V${edge}H0Z`;
}
