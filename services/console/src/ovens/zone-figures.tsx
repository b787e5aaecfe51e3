import type { ZoneStatus } from "../api/types";
import { range, signed } from "../figures/number";
import { beyond, sideOf } from "../figures/side";
import { figure } from "../figures/units";
import { useView } from "../state/view";
import { stretches, WIDTH } from "./ribbon-path";

const WORDS = { above: "above", below: "below", within: "in its band", unjudged: "" };

/** The zones' moisture under their stretch of the drawing. */
export function ZoneFigures({ zones }: { zones: ZoneStatus[] }) {
  return (
    <ol class="zone-figures">
      {stretches(zones).map(({ zone, from, to }) => (
        <li key={zone.zone} class={sideOf(zone.moisture_pct, zone.low_pct, zone.high_pct)} style={{ flexGrow: (to - from) / WIDTH }}>
          <ZoneFigure zone={zone} />
        </li>
      ))}
    </ol>
  );
}

function ZoneFigure({ zone }: { zone: ZoneStatus }) {
  const { units } = useView();
  const side = sideOf(zone.moisture_pct, zone.low_pct, zone.high_pct);
  const apart = side === "above" || side === "below";
  const sign = side === "above" ? "▲" : "▼";
  const usual = range(zone.low_pct, zone.high_pct, 1);
  return (
    <>
      <span class="zone-name"><span class="long">Zone </span><span class="short" aria-hidden="true">Z</span>{zone.zone}</span>
      <span class="zone-moisture" title={side === "unjudged" ? "no normal to hold it against" : `usual ${usual} % vol`}>
        {figure(zone.moisture_pct, "moisture_pct", units)}<span class="spoken"> % vol, </span>
      </span>
      <span class="zone-beyond">
        {apart && <><span aria-hidden="true">{sign} </span>{signed(beyond(zone.moisture_pct, zone.low_pct, zone.high_pct), 1)}</>}
        <span class="spoken"> {WORDS[side]}</span>
      </span>
    </>
  );
}
