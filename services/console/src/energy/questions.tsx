import type { Period } from "../api/energy";
import { Choice } from "../parts/choice";
import { OvenField } from "../parts/oven-field";

/** Of which oven, which days, in which steps, and held against which days. */
export function Questions({ line, by, from, to, baselineFrom, baselineTo, change }: {
  line: string;
  by: Period;
  from: string;
  to: string;
  baselineFrom: string;
  baselineTo: string;
  change(change: Record<string, string>): void;
}) {
  const halfAsked = (baselineFrom === "") !== (baselineTo === "");
  return (
    <section class="panel questions">
      <OvenField value={line} onChange={(one) => change({ line: one })} />
      <Choice<Period> label="By" name="by" value={by} options={[["shift", "Shift"], ["day", "Day"], ["month", "Month"], ["product", "Product"]]}
        onChange={(period) => change({ by: period })} />
      <DateField label="From" value={from} onChange={(date) => change({ from: date })} />
      <DateField label="To" value={to} onChange={(date) => change({ to: date })} />
      <DateField label="Baseline from" value={baselineFrom} onChange={(date) => change({ baseline_from: date })} />
      <DateField label="Baseline before" value={baselineTo} onChange={(date) => change({ baseline_to: date })} />
      {halfAsked && <p class="quiet">A baseline needs both of its ends.</p>}
    </section>
  );
}

function DateField({ label, value, onChange }: { label: string; value: string; onChange(date: string): void }) {
  return (
    <label class="field"><span>{label}</span>
      <input type="date" value={value} onChange={(event) => onChange(event.currentTarget.value)} />
    </label>
  );
}
