import type { EvidenceZone } from "../api/types";
import { ownScale } from "../figures/own-scale";

/** Heights of one zone's figures in its panel, 0 at the bottom and 1 at the top; none where there is no figure. */
export interface Heights {
  before: number | null;
  observed: number | null;
  expected: number | null;
  low: number | null;
  high: number | null;
}

/** The heights of a zone's figures on its own scale. */
export function heights(zone: EvidenceZone): Heights {
  const place = ownScale([zone.before, zone.observed, zone.expected, zone.low, zone.high]);
  return {
    before: place(zone.before), observed: place(zone.observed), expected: place(zone.expected),
    low: place(zone.low), high: place(zone.high),
  };
}
