import { useState } from "preact/hooks";
import { upload } from "../api/client";
import type { TransitUploaded } from "../api/transit";
import { counted, typed } from "../figures/number";
import { measure } from "../figures/units";
import { OvenField } from "../parts/oven-field";
import { Said, useSigned } from "../parts/signed";
import { link } from "../state/route";
import { may, useSession } from "../state/session";
import { useView } from "../state/view";
import { guessColumns, places, readHeader, type LoggerColumns, type LoggerHeader } from "./logger-header";
import { RunColumns } from "./run-columns";

/** So much of a file is looked at to find its columns. */
const HEAD_BYTES = 8192;

interface Chosen {
  file: File;
  header: LoggerHeader;
}

/** Brings a logger's file: which columns hold what, which oven it went through, and what nobody has stored of it. */
export function UploadRun({ line: filtered, changed }: { line: string; changed(): void }) {
  const session = useSession();
  const { status, model, clock, units } = useView();
  const signed = useSigned(changed);
  const [chosen, setChosen] = useState<Chosen | null>(null);
  const [columns, setColumns] = useState<LoggerColumns | null>(null);
  const [unreadable, setUnreadable] = useState("");
  const [line, setLine] = useState(filtered || (status.lines[0]?.id ?? ""));
  const [product, setProduct] = useState("");
  const [speed, setSpeed] = useState("");
  const [entered, setEntered] = useState("");
  const [injectors, setInjectors] = useState("");
  const [uploaded, setUploaded] = useState<TransitUploaded | null>(null);
  const length = measure("length_m", units);
  const band = measure("band_speed_m_min", units);
  const injectorPlaces = places(injectors, (place) => place / length.from(1));
  const speedWire = speed.trim() === "" ? null : typed(speed) / band.from(1);
  const wrong = injectorPlaces === null || (speedWire !== null && !(speedWire > 0));

  if (!may(session, "engineer")) {
    return <section class="panel"><h2>Bring a run</h2><p class="quiet">To bring a run, sign in as an engineer.</p></section>;
  }

  const choose = async (file: File | undefined) => {
    setUploaded(null);
    setUnreadable("");
    setChosen(null);
    if (file === undefined) return;
    const header = readHeader(await file.slice(0, HEAD_BYTES).text());
    if (header === null) {
      setUnreadable(`${file.name} has no header with columns in its first line. A logger's file is CSV: time, air temperature, dew point or moisture.`);
      return;
    }
    setChosen({ file, header });
    setColumns(guessColumns(header.columns));
  };

  const bring = (file: File, header: LoggerHeader, of: LoggerColumns) => signed.act("The run is kept.", async () => {
    const answer = await upload<TransitUploaded>("/transit-runs", {
      line, product, speed_m_min: speedWire, entered: entered === "" ? null : clock.instant(entered), injectors_m: injectorPlaces,
      time_column: of.time, temperature_column: of.temperature, temperature_unit: of.unit, separator: header.separator,
      ...(of.kind === "dew-point" ? { dew_point_column: of.humidity } : { moisture_column: of.humidity }),
    }, file, "text/csv");
    setUploaded(answer);
    if (!answer.left_out) location.hash = link(["transit-runs", answer.run.id]);
  });

  return (
    <section class="panel answering">
      <h2>Bring a run</h2>
      <label class="field"><span>The logger's file (CSV)</span>
        <input type="file" accept=".csv,.txt,text/csv,text/plain" onChange={(event) => choose(event.currentTarget.files?.[0])} />
      </label>
      {unreadable !== "" && <p class="notice" role="alert">{unreadable}</p>}
      {chosen && columns && (
        <>
          <RunColumns header={chosen.header} columns={columns} change={(change) => setColumns({ ...columns, ...change })} />
          <div class="fields">
            <OvenField value={line} onChange={setLine} />
            <label class="field"><span>Product</span>
              <select value={product} onChange={(event) => setProduct(event.currentTarget.value)}>
                <option value="">as stored</option>
                {(model?.products ?? []).map((one) => <option key={one.code} value={one.code}>{one.name}</option>)}
              </select>
            </label>
            <label class="field"><span>Band speed, {band.unit}</span>
              <input type="text" inputMode="decimal" value={speed} placeholder="as stored" onInput={(event) => setSpeed(event.currentTarget.value)} />
            </label>
            <label class="field"><span>Entered the oven</span>
              <input type="datetime-local" step="1" value={entered} onInput={(event) => setEntered(event.currentTarget.value)} />
            </label>
            <label class="field"><span>Steam injectors, {length.unit} from the mouth</span>
              <input type="text" value={injectors} placeholder="0.3, 0.6, 0.9" onInput={(event) => setInjectors(event.currentTarget.value)} />
            </label>
          </div>
          <p class="quiet">What is left empty is taken from what is stored; the time of entering, from when the logger got warm.</p>
          <button type="button" class="main" disabled={signed.busy || wrong} onClick={() => bring(chosen.file, chosen.header, columns)}>Bring it</button>
        </>
      )}
      <Said signed={signed} />
      {uploaded?.left_out && (
        <p class="notice">
          {counted(uploaded.left_out.rows, "row")} left out as not readable; the first: {uploaded.left_out.first}.{" "}
          <a href={link(["transit-runs", uploaded.run.id])}>Look at the run</a>
        </p>
      )}
    </section>
  );
}
