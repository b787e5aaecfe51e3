/** A small set of answers of which one holds, as radio buttons that look like one control. */
export function Choice<T extends string>({ label, name, value, options, onChange }: {
  label: string;
  name: string;
  value: T;
  options: readonly (readonly [T, string])[];
  onChange(value: T): void;
}) {
  return (
    <fieldset class="choice">
      <legend>{label}</legend>
      <div class="choice-row">
        {options.map(([option, words]) => (
          <label key={option} class={option === value ? "chosen" : ""}>
            <input type="radio" name={name} value={option} checked={option === value} onChange={() => onChange(option)} />
            <span>{words}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}
