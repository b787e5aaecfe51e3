import type { Review } from "../api/rate-change";
import { decimals, isFigure, signed } from "../figures/number";
import { withUnit } from "../figures/units";
import { Mark } from "../parts/mark";
import { UnderSteam } from "../parts/under-steam";
import { link } from "../state/route";
import { useView } from "../state/view";
import { chance } from "../words/rate-change";

/** Less than this outside of what was learned is rounding, %. */
const OUTSIDE_PCT = 0.05;

/** The answer first: does the oven carry it, and how far from what was ever seen is that said. */
export function Verdict({ review }: { review: Review }) {
  const { units } = useView();
  const foretold = review.untouched.carryover_chance_pct;
  const carries = foretold <= review.carried.accepted_chance_pct;
  return (
    <div class={`summary ${carries ? "" : "medium"}`}>
      <p class="summary-message">
        <Mark sign={carries ? "normal" : "medium"} />
        <span>
          {carries ? "The oven carries this speed with nothing touched but the band." : "Moisture is likely to be carried past zone 2 if nothing is touched but the band."}
          {" "}<strong>Chance of carryover {chance(foretold)}.</strong>
        </span>
      </p>
      <Extrapolated review={review} />
      <dl class="facts">
        <div><dt>Band speed</dt><dd>{withUnit(review.speed_m_min, "band_speed_m_min", units)}</dd></div>
        <div><dt>Against the usual {withUnit(review.usual_speed_m_min, "band_speed_m_min", units)}</dt><dd>{signed(100 * (review.speed_m_min / review.usual_speed_m_min - 1), 1)} %</dd></div>
        <div><dt>Bake time</dt><dd>{withUnit(review.bake_time_min, "minutes", units)}</dd></div>
        <div><dt>Chance now, at the usual speed</dt><dd>{chance(review.usual.carryover_chance_pct)}</dd></div>
        <div><dt>With dampers and steam as crews set them</dt><dd>{chance(review.practised.carryover_chance_pct)}</dd></div>
        {isFigure(review.steam_exposure_s) && <UnderSteam seconds={review.steam_exposure_s} />}
        {isFigure(review.untouched.bake_loss_pct) && <div><dt>Bake loss foretold, now</dt><dd>{decimals(review.untouched.bake_loss_pct, 1)} %, {decimals(review.usual.bake_loss_pct, 1)} %</dd></div>}
        <div><dt>Foretold by</dt><dd>water balance {review.balance}</dd></div>
        {review.normal && <div><dt>Held against</dt><dd><a href={link(["normals", review.normal])}>{review.normal}</a></dd></div>}
      </dl>
    </div>
  );
}

function Extrapolated({ review }: { review: Review }) {
  const outside = [
    { of: "of the balance", pct: review.outside_history_pct },
    { of: "of the normal", pct: review.outside_normal_pct ?? 0 },
  ].filter(({ pct }) => pct > OUTSIDE_PCT);
  if (outside.length === 0) return <p class="within">The speed lies among those that were learned from.</p>;
  return (
    <p class="extrapolated">
      <strong>EXTRAPOLATED.</strong> The speed lies {outside.map(({ of, pct }) => `${decimals(pct, 1)} % outside of the speeds ${of}`).join(" and ")}:
      nobody has seen this oven run so.
    </p>
  );
}
