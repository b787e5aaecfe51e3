import type { NormalDifference } from "../api/records";
import { decimals, signed } from "../figures/number";
import { figure, measure, withUnit } from "../figures/units";
import { Awaited } from "../parts/page";
import { useAnswer } from "../state/answer";
import { useView } from "../state/view";
import { Scroll } from "../parts/scroll";

/** What a normal expects otherwise than another, at the speeds that both know. */
export function Difference({ before, after }: { before: string; after: string }) {
  const { units } = useView();
  const air = measure("air_temperature_c", units);
  const answer = useAnswer<NormalDifference>("/normals/diff", { a: before, b: after });
  return (
    <Awaited answer={answer} missing="These two cannot be compared.">
      {(difference) => difference.at.length === 0 ? <p class="quiet">They share no speed at which they could be compared.</p> : (
        <>
          <Scroll>
            <table>
              <caption>Moisture by volume, % vol: {before}, then {after}; below it, air temperature in {air.unit}</caption>
              <thead>
                <tr><th scope="col">At</th>{difference.at[0]?.zones.map((zone) => <th key={zone.zone} scope="col" class="figure">Zone {zone.zone}</th>)}</tr>
              </thead>
              <tbody>
                {difference.at.map((at) => (
                  <tr key={at.speed_m_min}>
                    <th scope="row" class="nowrap">{withUnit(at.speed_m_min, "band_speed_m_min", units)}</th>
                    {at.zones.map(({ zone, moisture_pct: change, air_temperature_c: heat }) => (
                      <td key={zone} class="figure">
                        {decimals(change.before.usual, 1)} to {decimals(change.after.usual, 1)}{" "}
                        <strong>({signed(change.after.usual - change.before.usual, 1)})</strong>
                        {change.outside_band_before && <Outside />}
                        {heat && (
                          <span class="below">
                            {figure(heat.before.usual, "air_temperature_c", units)} to {figure(heat.after.usual, "air_temperature_c", units)}
                            {heat.outside_band_before && <Outside />}
                          </span>
                        )}
                      </td>
                    ))}
                  </tr>
                ))}
              </tbody>
            </table>
          </Scroll>
          <p class="quiet">◆ lies outside of the band of {before}.</p>
        </>
      )}
    </Awaited>
  );
}

function Outside() {
  return <> <span aria-hidden="true">◆</span><span class="spoken">outside of the band before</span></>;
}
