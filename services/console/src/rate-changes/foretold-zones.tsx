import type { ForetoldZone, Review } from "../api/rate-change";
import { decimals, NO_FIGURE, range } from "../figures/number";
import { ownScale } from "../figures/own-scale";
import { Scroll } from "../parts/scroll";

const HEIGHT = 150;

/** A zone as it will be, beside as it is, as its normal has it, and what it may hold. */
interface Zone {
  number: number;
  foretold: ForetoldZone;
  usual: ForetoldZone | undefined;
  practised: ForetoldZone | undefined;
  normal: ForetoldZone | undefined;
  ceiling: number | undefined;
  above: boolean;
}

/** What each zone will hold at the speed asked for: drawn, and as a table of the same figures. */
export function ForetoldZones({ review }: { review: Review }) {
  const zones = zonesOf(review);
  return (
    <section class="panel foretold">
      <h2>What the zones will hold</h2>
      <div class="zone-pictures" aria-hidden="true">{zones.map((zone) => <Picture key={zone.number} zone={zone} />)}</div>
      <p class="legend picture-legend" aria-hidden="true">
        <span><i class="key-before" /> at the usual speed</span>
        <span><i class="key-observed" /> foretold, nothing touched</span>
        <span><i class="key-band" /> its band, 90 of 100</span>
        <span><i class="key-normal" /> the normal's own answer, 95 of 100</span>
        <span><i class="key-ceiling" /> ceiling</span>
        <span>Each zone on a scale of its own.</span>
      </p>
      <Scroll>
        <table>
          <caption>Moisture by volume, % vol</caption>
          <thead>
            <tr>
              <th scope="col">Zone</th><th scope="col" class="figure">Usual</th><th scope="col" class="figure">Foretold</th><th scope="col" class="figure">Band</th>
              <th scope="col" class="figure">As crews set it</th><th scope="col" class="figure">By the normal</th><th scope="col" class="figure">Band</th>
              <th scope="col" class="figure">Ceiling</th><th scope="col">Against it</th>
            </tr>
          </thead>
          <tbody>{zones.map((zone) => <Row key={zone.number} zone={zone} />)}</tbody>
        </table>
      </Scroll>
      <Ceilings review={review} />
    </section>
  );
}

function zonesOf(review: Review): Zone[] {
  const of = (zones: ForetoldZone[] | null | undefined, number: number) => zones?.find((zone) => zone.zone === number);
  return review.untouched.zones.map((foretold) => {
    const ceiling = review.ceilings.find((one) => one.zone === foretold.zone)?.moisture_pct;
    return {
      number: foretold.zone, foretold, ceiling, above: ceiling !== undefined && foretold.moisture_pct > ceiling,
      usual: of(review.usual.zones, foretold.zone), practised: of(review.practised.zones, foretold.zone), normal: of(review.by_normal, foretold.zone),
    };
  });
}

function Row({ zone }: { zone: Zone }) {
  const { foretold, usual, practised, normal, ceiling } = zone;
  return (
    <tr class={zone.above ? "apart" : ""}>
      <th scope="row">{zone.number}</th>
      <td class="figure">{decimals(usual?.moisture_pct, 1)}</td>
      <td class="figure">{decimals(foretold.moisture_pct, 1)}</td>
      <td class="figure">{range(foretold.low_pct, foretold.high_pct, 1)}</td>
      <td class="figure">{decimals(practised?.moisture_pct, 1)}</td>
      <td class="figure">{decimals(normal?.moisture_pct, 1)}</td>
      <td class="figure">{range(normal?.low_pct, normal?.high_pct, 1)}</td>
      <td class="figure">{decimals(ceiling, 1)}</td>
      <td>{ceiling === undefined ? NO_FIGURE : zone.above ? "▲ above" : "under"}</td>
    </tr>
  );
}

function Picture({ zone }: { zone: Zone }) {
  const { foretold, usual, normal, ceiling } = zone;
  const place = ownScale([foretold.moisture_pct, foretold.low_pct, foretold.high_pct, usual?.moisture_pct, normal?.low_pct, normal?.high_pct, ceiling]);
  const y = (figure: number) => (1 - (place(figure) ?? 0.5)) * HEIGHT;
  return (
    <figure class={zone.above ? "apart medium" : ""}>
      <svg viewBox={`0 0 100 ${HEIGHT}`}>
        <rect class="band" x="36" width="38" y={y(foretold.high_pct)} height={Math.max(y(foretold.low_pct) - y(foretold.high_pct), 2)} rx="2" />
        {normal && <path class="normal" d={`M88 ${y(normal.low_pct)}V${y(normal.high_pct)}M84 ${y(normal.low_pct)}h8M84 ${y(normal.high_pct)}h8M82 ${y(normal.moisture_pct)}h12`} />}
        {usual && <path class="way" d={`M20 ${y(usual.moisture_pct)}L55 ${y(foretold.moisture_pct)}`} />}
        {usual && <circle class="before" cx="20" cy={y(usual.moisture_pct)} r="5.5" />}
        <path class="observed" d={`M55 ${y(foretold.moisture_pct) - 8}l8 8-8 8-8-8Z`} />
        {ceiling !== undefined && <path class="ceiling" d={`M6 ${y(ceiling)}H94`} />}
      </svg>
      <figcaption>
        <span>Zone {zone.number}</span>
        <strong>{decimals(foretold.moisture_pct, 1)}</strong>
        {ceiling !== undefined && <em>{zone.above ? "▲ above " : "under "}{decimals(ceiling, 1)}</em>}
      </figcaption>
    </figure>
  );
}

/** Where the ceilings come from, each reason once. */
function Ceilings({ review }: { review: Review }) {
  const reasons = [...new Set(review.ceilings.map((ceiling) => ceiling.from))];
  if (reasons.length === 0) return null;
  return (
    <p class="quiet">
      Ceiling: {reasons.map((reason) => `${reason} (zone ${review.ceilings.filter((one) => one.from === reason).map((one) => one.zone).join(", ")})`).join("; ")}.
    </p>
  );
}
