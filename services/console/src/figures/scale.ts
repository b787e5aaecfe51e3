import type { Maybe } from "../api/types";
import { isFigure } from "./number";

/** A vertical scale with round marks. */
export interface Scale {
  bottom: number;
  top: number;
  marks: number[];
}

/** The scale that holds these figures with about four marks; from 0 where the quantity has a true zero. */
export function scaleOf(figures: Maybe<number>[], fromZero: boolean): Scale {
  const known = figures.filter(isFigure);
  const highest = known.length === 0 ? 1 : Math.max(...known);
  const lowest = fromZero || known.length === 0 ? 0 : Math.min(...known);
  const step = roundStep((highest - lowest || Math.abs(highest) || 1) / 4);
  const bottom = Math.floor(lowest / step) * step;
  const top = Math.max(Math.ceil(highest / step) * step, bottom + step);
  const marks: number[] = [];
  for (let index = 0; bottom + index * step <= top + step / 2; index += 1) marks.push(Number((bottom + index * step).toPrecision(12)));
  return { bottom, top, marks };
}

/** 1, 2 or 5 times a power of ten, at least as large as `least`. */
function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  const factor = [1, 2, 5, 10].find((one) => one * power >= least * 0.999) ?? 10;
  return factor * power;
}

/** The distance of a figure from the top in per cent of the height. */
export function depth(figure: number, scale: Scale): number {
  const share = (figure - scale.bottom) / (scale.top - scale.bottom);
  return (1 - Math.min(Math.max(share, 0), 1)) * 100;
}
