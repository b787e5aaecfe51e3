import { useView } from "../state/view";

/** Asks for one oven. */
export function OvenField({ value, onChange }: { value: string; onChange(line: string): void }) {
  const { status } = useView();
  return (
    <label class="field"><span>Oven</span>
      <select value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        {status.lines.map((line) => <option key={line.id} value={line.id}>{line.name}</option>)}
      </select>
    </label>
  );
}
