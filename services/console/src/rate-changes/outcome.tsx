import type { ForetoldZone, RateChange } from "../api/rate-change";
import { decimals, NO_FIGURE, range, signed } from "../figures/number";
import { ownScale } from "../figures/own-scale";
import { beyond } from "../figures/side";
import { Scroll } from "../parts/scroll";

const HEIGHT = 150;

/** What was foretold, and beside it what came. */
export function Outcome({ change }: { change: RateChange }) {
  const { outcome } = change;
  const came = (zone: number) => outcome?.zones.find((one) => one.foretold.zone === zone)?.came_pct;
  return (
    <section class="panel foretold">
      <h2>{outcome ? "Foretold, and what came" : "Foretold"}</h2>
      <div class="zone-pictures" aria-hidden="true">{change.foretold.map((zone) => <Picture key={zone.zone} foretold={zone} came={came(zone.zone)} />)}</div>
      <p class="legend picture-legend" aria-hidden="true">
        <span><i class="key-expected" /> foretold</span>
        <span><i class="key-band" /> its band, 90 of 100</span>
        {outcome && <span><i class="key-observed" /> came</span>}
        <span>Each zone on a scale of its own.</span>
      </p>
      <Scroll>
        <table>
          <caption>Moisture by volume, % vol</caption>
          <thead>
            <tr>
              <th scope="col">Zone</th><th scope="col" class="figure">Foretold</th><th scope="col" class="figure">Band</th>
              {outcome && <><th scope="col" class="figure">Came</th><th scope="col">Verdict</th></>}
            </tr>
          </thead>
          <tbody>
            {change.foretold.map((zone) => <Row key={zone.zone} foretold={zone} came={outcome ? came(zone.zone) : undefined} looked={Boolean(outcome)} />)}
          </tbody>
        </table>
      </Scroll>
      {outcome && <p class="quiet">Means over {decimals(outcome.hours, 1)} h at rest at the new speed, in the 24 h after it was made.</p>}
    </section>
  );
}

function Row({ foretold, came, looked }: { foretold: ForetoldZone; came: number | undefined; looked: boolean }) {
  const apart = beyond(came, foretold.low_pct, foretold.high_pct);
  return (
    <tr class={apart === 0 ? "" : "apart"}>
      <th scope="row">{foretold.zone}</th>
      <td class="figure">{decimals(foretold.moisture_pct, 1)}</td>
      <td class="figure">{range(foretold.low_pct, foretold.high_pct, 1)}</td>
      {looked && (
        <>
          <td class="figure">{decimals(came, 1)}</td>
          <td>{came === undefined ? NO_FIGURE : apart === 0 ? "as foretold" : `${apart > 0 ? "▲" : "▼"} ${signed(apart, 1)} beyond the band`}</td>
        </>
      )}
    </tr>
  );
}

function Picture({ foretold, came }: { foretold: ForetoldZone; came: number | undefined }) {
  const place = ownScale([foretold.low_pct, foretold.moisture_pct, foretold.high_pct, came]);
  const y = (figure: number) => (1 - (place(figure) ?? 0.5)) * HEIGHT;
  const apart = beyond(came, foretold.low_pct, foretold.high_pct);
  return (
    <figure class={apart === 0 ? "" : "apart medium"}>
      <svg viewBox={`0 0 100 ${HEIGHT}`}>
        <rect class="band" x="22" width="56" y={y(foretold.high_pct)} height={Math.max(y(foretold.low_pct) - y(foretold.high_pct), 2)} rx="2" />
        <path class="expected" d={`M16 ${y(foretold.moisture_pct)}H84`} />
        {came !== undefined && <path class="observed" d={`M50 ${y(came) - 8}l8 8-8 8-8-8Z`} />}
      </svg>
      <figcaption>
        <span>Zone {foretold.zone}</span>
        <strong>{decimals(came ?? foretold.moisture_pct, 1)}</strong>
        {apart !== 0 && <em>{signed(apart, 1)}</em>}
      </figcaption>
    </figure>
  );
}
