import type { Review } from "../api/rate-change";
import { decimals, isFigure } from "../figures/number";
import { scaleOf } from "../figures/scale";
import { withUnit } from "../figures/units";
import { useView } from "../state/view";

/** The speeds that matter on one scale: as usual, as asked for, and as fast as this oven carries. */
export function HighestSpeeds({ review }: { review: Review }) {
  const { units } = useView();
  const { carried } = review;
  const speeds = [
    { words: "Usual", speed: review.usual_speed_m_min, sign: "usual" },
    { words: "Asked for", speed: review.speed_m_min, sign: "asked" },
    { words: "Carried with nothing touched but the band", speed: carried.untouched_m_min, sign: "carried" },
    { words: "Carried with the exhaust open from zone 2 on", speed: carried.exhaust_open_m_min, sign: "carried" },
  ];
  const scale = scaleOf(speeds.map(({ speed }) => speed), false);
  const left = (speed: number) => `${(100 * (speed - scale.bottom)) / (scale.top - scale.bottom)}%`;
  return (
    <section class="panel">
      <h2>Highest speed this oven carries</h2>
      <ul class="speeds">
        {speeds.map(({ words, speed, sign }) => (
          <li key={words}>
            <span>{words}</span>
            <span class="speed-track" aria-hidden="true">
              <i class="speed-asked" style={{ left: left(review.speed_m_min) }} />
              {isFigure(speed) && <i class={`speed-dot ${sign}`} style={{ left: left(speed) }} />}
            </span>
            <strong>{isFigure(speed) ? withUnit(speed, "band_speed_m_min", units) : "not even the usual speed"}</strong>
          </li>
        ))}
      </ul>
      <p class="quiet">Carried: the chance of carryover is at most {decimals(carried.accepted_chance_pct, 0)} %. The balance is asked no further than half as fast again as usual.</p>
    </section>
  );
}
