import type { EnergyAccount, EnergyRecord } from "../api/energy";
import type { Maybe } from "../api/types";
import { linePath, type Point } from "../figures/line-path";
import { count, decimals } from "../figures/number";
import { depth, scaleOf } from "../figures/scale";
import { convert, measure } from "../figures/units";
import { useView } from "../state/view";

/** Where a moment lies between two others, 0 to 100. */
function place(at: number, from: number, to: number): number {
  return to <= from ? 50 : Math.min(Math.max((100 * (at - from)) / (to - from), 0), 100);
}

/** The indicator, the moisture under it, and the cumulative sum of what was saved, over one time. */
export function Tracks({ account }: { account: EnergyAccount }) {
  const { clock, units } = useView();
  const { records, saving } = account;
  const from = Date.parse(records[0]?.starts ?? "");
  const to = Date.parse(records.at(-1)?.starts ?? "");
  const along = (value: (record: EnergyRecord) => Maybe<number>): Point[] =>
    records.map((record) => ({ at: place(Date.parse(record.starts), from, to), value: value(record) ?? null }));
  const turn = saving?.turn;
  const turned = turn ? Date.parse(records.find((record) => record.period === `${turn.date} ${turn.shift}`)?.starts ?? clock.instant(turn.date) ?? "") : null;
  const energy = measure("energy_kwh_t", units);
  const middle = (from + to) / 2;
  return (
    <section class="panel">
      <h2>Over time</h2>
      <Track title={`EnPI, ${energy.unit}`} places={energy.places} points={along((record) => convert(record.kwh_per_t, "energy_kwh_t", units))} fromZero={false} turn={null} />
      <Track title="Moisture in zone 3, % vol" places={1} points={along((record) => record.zone3_moisture_pct)} fromZero={false} turn={null} />
      {saving && saving.shifts > 0 && (
        <Track title="Saved, cumulative sum (CUSUM), kWh" places={0} points={along((record) => record.cusum_kwh)} fromZero
          turn={turn && turned !== null ? { at: place(turned, from, to), words: `turned ${clock.date(turned)}` } : null} />
      )}
      <p class="track-dates" aria-hidden="true"><span>{clock.date(from)}</span><span>{clock.date(middle)}</span><span>{clock.date(to)}</span></p>
    </section>
  );
}

/** One figure over time; a person who cannot see it finds it in the table below. */
function Track({ title, places, points, fromZero, turn }: {
  title: string;
  places: number;
  points: Point[];
  /** Zero belongs to the picture. */
  fromZero: boolean;
  turn: { at: number; words: string } | null;
}) {
  const values = points.map(({ value }) => value);
  const scale = scaleOf(fromZero ? [0, ...values] : values, false);
  const known = values.filter((value) => value !== null);
  return (
    <figure class="track" aria-hidden="true">
      <figcaption>{title}</figcaption>
      <div class="track-plot">
        <svg viewBox="0 0 100 100" preserveAspectRatio="none">
          {scale.marks.map((mark) => <path key={mark} class={mark === 0 && fromZero ? "zero" : "grid"} d={`M0 ${depth(mark, scale)}H100`} />)}
          {turn && <path class="turn" d={`M${turn.at} 0V100`} />}
          <path class="line" d={linePath(points, scale)} />
          <path class="dots" d={points.filter(({ value }) => value !== null).map(({ at, value }) => `M${at} ${depth(value ?? 0, scale)}h0`).join("")} />
        </svg>
        {scale.marks.map((mark) => <span key={mark} class="axis" style={{ top: `${depth(mark, scale)}%` }}>{Number.isInteger(mark) ? count(mark) : decimals(mark, Math.max(places, 1))}</span>)}
        {turn && <span class={`turn-words ${turn.at > 70 ? "left" : ""}`} style={{ left: `${turn.at}%` }}>{turn.words}</span>}
        {known.length === 0 && <span class="track-none">nobody knows</span>}
      </div>
    </figure>
  );
}
