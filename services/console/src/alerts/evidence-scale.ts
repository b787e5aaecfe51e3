import type { EvidenceZone } from "../api/types";

/** Heights of one zone's figures in its panel, 0 at the bottom and 1 at the top; none where there is no figure. */
export interface Heights {
  before: number | null;
  observed: number | null;
  expected: number | null;
  low: number | null;
  high: number | null;
}

/** Room left above and below the outermost figure, as a share of what lies between them. */
const MARGIN = 0.14;

/** Each zone has a scale of its own: on one scale for all, zone 1 would flatten the zones that tell an overload. */
export function heights(zone: EvidenceZone): Heights {
  const figures = [zone.before, zone.observed, zone.expected, zone.low, zone.high].filter((figure) => isFigure(figure));
  const lowest = Math.min(...figures);
  const span = Math.max(...figures) - lowest;
  const place = (figure: number | null | undefined) =>
    !isFigure(figure) ? null : span === 0 ? 0.5 : MARGIN + ((figure - lowest) / span) * (1 - 2 * MARGIN);
  return {
    before: place(zone.before), observed: place(zone.observed), expected: place(zone.expected),
    low: place(zone.low), high: place(zone.high),
  };
}

function isFigure(figure: number | null | undefined): figure is number {
  return figure !== null && figure !== undefined && Number.isFinite(figure);
}
