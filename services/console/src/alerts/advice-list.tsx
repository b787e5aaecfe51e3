import type { Alert } from "../api/types";
import { decimals } from "../figures/number";
import { useView } from "../state/view";
import { order } from "../words/advice";

/** What to try, first things first, with the caution that goes with all of it. */
export function AdviceList({ alert }: { alert: Alert }) {
  const { units } = useView();
  const advice = alert.advice ?? [];
  return (
    <section class="panel advice">
      <h2>What to try</h2>
      {advice.length === 0 ? <p class="quiet">There is no advice for this.</p> : (
        <ol>
          {advice.map((step, index) => (
            <li key={index}>
              <strong>{order(step, units)}</strong>
              {step.text && <span>{step.text}</span>}
              {step.extra_cost_per_h !== null && step.extra_cost_per_h !== undefined && <span>Costs {decimals(step.extra_cost_per_h, 2)} more an hour.</span>}
            </li>
          ))}
        </ol>
      )}
      {alert.caution && <p class="caution"><strong>Caution.</strong> {alert.caution}</p>}
    </section>
  );
}
