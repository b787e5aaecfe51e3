import { decimals } from "../figures/number";

/** Longer under steam than this is baked off again (common practice), s. */
const USEFUL_S = 10;

/** How long dough is under steam, and whether that is longer than is of use. */
export function UnderSteam({ seconds }: { seconds: number }) {
  return (
    <div>
      <dt>Under steam</dt>
      <dd>{decimals(seconds, 0)} s{seconds > USEFUL_S && <span class="quiet">; over {USEFUL_S} s is baked off again (common practice)</span>}</dd>
    </div>
  );
}
