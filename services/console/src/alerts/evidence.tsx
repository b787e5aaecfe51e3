import type { Alert, EvidenceZone } from "../api/types";
import { decimals, NO_FIGURE, range, signed } from "../figures/number";
import { beyond, sideOf } from "../figures/side";
import { heights } from "./evidence-scale";
import { Scroll } from "../parts/scroll";

const HEIGHT = 150;

/** What each zone held before, holds now, and should hold by practice: drawn, and as a table of the same figures. */
export function Evidence({ alert }: { alert: Alert }) {
  const zones = alert.zones ?? [];
  if (zones.length === 0) return <Signals alert={alert} />;
  return (
    <section class="panel evidence">
      <h2>Evidence</h2>
      <div class="zone-pictures" aria-hidden="true">
        {zones.map((zone) => <ZonePicture key={zone.zone} zone={zone} calls={alert.priority} />)}
      </div>
      <p class="legend picture-legend" aria-hidden="true">
        <span><i class="key-before" /> before</span>
        <span><i class="key-observed" /> as judged</span>
        <span><i class="key-expected" /> expected</span>
        <span><i class="key-band" /> its band, 95 of 100</span>
        <span>Each zone on a scale of its own.</span>
      </p>
      <Scroll>
        <table>
          <caption>Moisture by volume, % vol</caption>
          <thead>
            <tr>
              <th scope="col">Zone</th><th scope="col" class="figure">Before</th><th scope="col" class="figure">As judged</th>
              <th scope="col" class="figure">Expected</th><th scope="col" class="figure">Band</th><th scope="col" class="figure">Beyond it</th>
            </tr>
          </thead>
          <tbody>{zones.map((zone) => <ZoneRow key={zone.zone} zone={zone} />)}</tbody>
        </table>
      </Scroll>
    </section>
  );
}

function ZoneRow({ zone }: { zone: EvidenceZone }) {
  const apart = beyond(zone.observed, zone.low, zone.high);
  return (
    <tr class={apart === 0 ? "" : "apart"}>
      <th scope="row">{zone.zone}</th>
      <td class="figure">{decimals(zone.before, 1)}</td>
      <td class="figure">{decimals(zone.observed, 1)}</td>
      <td class="figure">{decimals(zone.expected, 1)}</td>
      <td class="figure">{range(zone.low, zone.high, 1)}</td>
      <td class="figure">{apart === 0 ? (sideOf(zone.observed, zone.low, zone.high) === "unjudged" ? NO_FIGURE : "within") : signed(apart, 1)}</td>
    </tr>
  );
}

function ZonePicture({ zone, calls }: { zone: EvidenceZone; calls: string }) {
  const place = heights(zone);
  const y = (height: number) => (1 - height) * HEIGHT;
  const apart = beyond(zone.observed, zone.low, zone.high) !== 0;
  return (
    <figure class={apart ? `apart ${calls}` : ""}>
      <svg viewBox={`0 0 100 ${HEIGHT}`}>
        {place.low !== null && place.high !== null && <rect class="band" x="22" width="56" y={y(place.high)} height={Math.max(y(place.low) - y(place.high), 2)} rx="2" />}
        {place.expected !== null && <path class="expected" d={`M16 ${y(place.expected)}H84`} />}
        {place.before !== null && place.observed !== null && <path class="way" d={`M34 ${y(place.before)}L62 ${y(place.observed)}`} />}
        {place.before !== null && <circle class="before" cx="34" cy={y(place.before)} r="5.5" />}
        {place.observed !== null && <path class="observed" d={`M62 ${y(place.observed) - 8}l8 8-8 8-8-8Z`} />}
      </svg>
      <figcaption>
        <span>Zone {zone.zone}</span>
        <strong>{decimals(zone.observed, 1)}</strong>
        {apart && <em>{signed(beyond(zone.observed, zone.low, zone.high), 1)}</em>}
      </figcaption>
    </figure>
  );
}

/** An alert about signals has no zones to show. */
function Signals({ alert }: { alert: Alert }) {
  const signals = alert.signals ?? [];
  return (
    <section class="panel">
      <h2>Evidence</h2>
      {signals.length === 0
        ? <p class="quiet">This alert carries no figures by zone.</p>
        : <ul class="rows">{signals.map((signal) => <li key={signal}><code>{signal}</code></li>)}</ul>}
    </section>
  );
}
