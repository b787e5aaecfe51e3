import type { Maybe } from "../api/types";
import { isFigure } from "./number";

/** Room left above and below the outermost figure, as a share of what lies between them. */
const MARGIN = 0.14;

/**
 * Places figures on a scale of their own, 0 at the bottom and 1 at the top; none where there is no figure. Zones are
 * drawn so: on one scale for all, zone 1 would flatten the zones that tell an overload.
 */
export function ownScale(figures: Maybe<number>[]): (figure: Maybe<number>) => number | null {
  const known = figures.filter(isFigure);
  const lowest = Math.min(...known);
  const span = Math.max(...known) - lowest;
  return (figure) => (!isFigure(figure) ? null : span === 0 ? 0.5 : MARGIN + ((figure - lowest) / span) * (1 - 2 * MARGIN));
}
