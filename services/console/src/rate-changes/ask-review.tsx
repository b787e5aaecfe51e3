import { useState } from "preact/hooks";
import { decimals, typed } from "../figures/number";
import { convert, measure } from "../figures/units";
import { Choice } from "../parts/choice";
import { OvenField } from "../parts/oven-field";
import { link } from "../state/route";
import { useView } from "../state/view";

type Told = "speed" | "bake-time";

/** Asks which oven is to run which product how fast, and leads to the review of that. */
export function AskReview(given: { line: string; product: string; speed: string; bakeTime: string }) {
  const { status, model, units } = useView();
  const { unit, places } = measure("band_speed_m_min", units);
  const wire = Number(given.speed);
  const [line, setLine] = useState(given.line || (status.lines[0]?.id ?? ""));
  const [told, setTold] = useState<Told>(given.bakeTime === "" ? "speed" : "bake-time");
  const [amount, setAmount] = useState(given.bakeTime || (given.speed === "" ? "" : decimals(convert(wire, "band_speed_m_min", units), places)));
  const running = status.lines.find((one) => one.id === line)?.product ?? "";
  const [chosen, setProduct] = useState(given.product);
  const product = chosen || running || (model?.products[0]?.code ?? "");
  const number = typed(amount);
  const complete = line !== "" && product !== "" && number > 0;

  const review = (event: Event) => {
    event.preventDefault();
    // The wire speaks metric, whatever the reader reads.
    const perUnit = convert(1, "band_speed_m_min", units) ?? 1;
    location.hash = link(["rate-changes", "review"], {
      line, product, ...(told === "speed" ? { speed: String(Number((number / perUnit).toPrecision(6))) } : { bake_time: String(number) }),
    });
  };

  return (
    <form class="ask" onSubmit={review}>
      <OvenField value={line} onChange={setLine} />
      <label class="field"><span>Product</span>
        <select value={product} onChange={(event) => setProduct(event.currentTarget.value)}>
          {(model?.products ?? []).map((one) => <option key={one.code} value={one.code}>{one.name}</option>)}
        </select>
      </label>
      <Choice<Told> label="Asked for as" name="told" value={told} options={[["speed", "Band speed"], ["bake-time", "Bake time"]]}
        onChange={(value) => { setTold(value); setAmount(""); }} />
      <label class="field amount"><span>{told === "speed" ? `Band speed, ${unit}` : "Bake time, min"}</span>
        <input type="text" inputMode="decimal" value={amount} required onInput={(event) => setAmount(event.currentTarget.value)} />
      </label>
      <button type="submit" class="main" disabled={!complete}>Review</button>
    </form>
  );
}
