import { Choice } from "../parts/choice";
import type { LoggerColumns, LoggerHeader } from "./logger-header";

/** Which column of the file holds what, each with its first figure. */
export function RunColumns({ header, columns, change }: {
  header: LoggerHeader;
  columns: LoggerColumns;
  change(change: Partial<LoggerColumns>): void;
}) {
  const select = (label: string, value: string, onChange: (column: string) => void) => (
    <label class="field"><span>{label}</span>
      <select value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        {header.columns.map((column, index) => <option key={column} value={column}>{column}{header.first[index] ? `: ${header.first[index]}` : ""}</option>)}
      </select>
    </label>
  );
  return (
    <div class="fields">
      {select("Column of times", columns.time, (time) => change({ time }))}
      {select("Column of air temperatures", columns.temperature, (temperature) => change({ temperature }))}
      <Choice label="Temperatures in" name="logger-unit" value={columns.unit} options={[["degC", "°C"], ["degF", "°F"]]} onChange={(unit) => change({ unit })} />
      {select("Column of humidity", columns.humidity, (humidity) => change({ humidity }))}
      <Choice label="Humidity is" name="logger-humidity" value={columns.kind} options={[["dew-point", "Dew point"], ["moisture", "% vol"]]} onChange={(kind) => change({ kind })} />
    </div>
  );
}
