import { useId } from "preact/hooks";
import type { ZoneStatus } from "../api/types";
import { beyondArea, moistureLine, RIBBON_BOTTOM, RIBBON_TOP, stretches, WIDTH } from "./ribbon-path";

/**
 * An oven along its band: moisture as a line, the normal's band as the ribbon that it should stay in. It repeats the
 * figures below it, so nobody has to hear it.
 */
export function Ribbon({ zones, calls }: { zones: ZoneStatus[]; calls: boolean }) {
  const id = useId();
  const along = stretches(zones);
  const judged = along.some((stretch) => stretch.y !== null);
  return (
    <svg class={`ribbon ${calls ? "calls" : ""}`} viewBox={`0 0 ${WIDTH} 100`} preserveAspectRatio="none" aria-hidden="true">
      <clipPath id={`${id}-over`}><rect x="0" y="0" width={WIDTH} height={RIBBON_TOP} /></clipPath>
      <clipPath id={`${id}-under`}><rect x="0" y={RIBBON_BOTTOM} width={WIDTH} height={100 - RIBBON_BOTTOM} /></clipPath>
      {judged && <rect class="usual" x="0" y={RIBBON_TOP} width={WIDTH} height={RIBBON_BOTTOM - RIBBON_TOP} />}
      {along.slice(1).map((stretch) => <path key={stretch.zone.zone} class="wall" d={`M${stretch.from} 0V100`} />)}
      {judged && (
        <>
          <path class="beyond" clip-path={`url(#${id}-over)`} d={beyondArea(along, RIBBON_TOP)} />
          <path class="beyond" clip-path={`url(#${id}-under)`} d={beyondArea(along, RIBBON_BOTTOM)} />
          <path class="moisture" d={moistureLine(along)} />
        </>
      )}
    </svg>
  );
}
