import type { TransitPoint, TransitRun, TransitZone } from "../api/transit";
import type { Maybe } from "../api/types";
import { linePath } from "../figures/line-path";
import { decimals, isFigure } from "../figures/number";
import { depth, scaleOf } from "../figures/scale";
import { convert, measure } from "../figures/units";
import { useView } from "../state/view";
import { lay, type Along } from "./along";

type RunQuantity = "moisture_pct" | "air_temperature_c";

const OF: Record<RunQuantity, {
  name: string;
  point(point: TransitPoint): Maybe<number>;
  sensor(zone: TransitZone): Maybe<number>;
  band(zone: TransitZone): [Maybe<number>, Maybe<number>];
}> = {
  moisture_pct: {
    name: "Moisture by volume", point: (point) => point.moisture_pct, sensor: (zone) => zone.sensor_moisture_pct,
    band: (zone) => [zone.normal_low_pct, zone.normal_high_pct],
  },
  air_temperature_c: {
    name: "Air temperature", point: (point) => point.temperature_c, sensor: (zone) => zone.sensor_temperature_c, band: () => [null, null],
  },
};

/** A run over the zones: the logger as a line, the fixed sensors as squares, the normal's band behind; another run dashed. */
export function RunPicture({ run, other, along, quantity }: { run: TransitRun; other: TransitRun | null; along: Along; quantity: RunQuantity }) {
  const { units } = useView();
  const { unit, places } = measure(quantity, units);
  const of = OF[quantity];
  const turn = (value: Maybe<number>) => convert(value, quantity, units);
  const laid = lay(run, along);
  const otherLaid = other === null ? null : lay(other, along);
  const end = Math.max(laid.borders.at(-1) ?? 1, otherLaid?.borders.at(-1) ?? 0) || 1;
  const x = (at: number) => (100 * at) / end;
  const bands = run.zones.map((zone) => of.band(zone).map(turn));
  const values = [...run.profile, ...(other?.profile ?? [])].map((point) => turn(of.point(point)));
  const scale = scaleOf([...values, ...bands.flat(), ...run.zones.map((zone) => turn(of.sensor(zone)))], quantity === "moisture_pct");
  const line = (from: TransitRun, points: number[]) =>
    linePath(from.profile.map((point, index) => ({ at: x(points[index] ?? 0), value: turn(of.point(point)) })), scale);
  return (
    <figure class="run" aria-hidden="true">
      <figcaption>{of.name}, {unit}, by {along === "place" ? `place, ${measure("length_m", units).unit} from the mouth` : "time in the oven, min"}</figcaption>
      <div class="run-plot">
        <svg viewBox="0 0 100 100" preserveAspectRatio="none">
          {scale.marks.map((mark) => <path key={mark} class="grid" d={`M0 ${depth(mark, scale)}H100`} />)}
          {bands.map(([low, high], zone) => isFigure(low) && isFigure(high) && (
            <rect key={zone} class="band" x={x(laid.borders[zone] ?? 0)} width={x((laid.borders[zone + 1] ?? 0) - (laid.borders[zone] ?? 0))}
              y={depth(high, scale)} height={Math.max(depth(low, scale) - depth(high, scale), 0.6)} />
          ))}
          {laid.borders.slice(1, -1).map((border) => <path key={border} class="wall" d={`M${x(border)} 0V100`} />)}
          {other !== null && otherLaid !== null && <path class="other" d={line(other, otherLaid.points)} />}
          <path class="line" d={line(run, laid.points)} />
        </svg>
        {scale.marks.map((mark) => <span key={mark} class="axis" style={{ top: `${depth(mark, scale)}%` }}>{decimals(mark, Number.isInteger(mark) ? 0 : places)}</span>)}
        {run.zones.map((zone, index) => {
          const sensor = turn(of.sensor(zone));
          const middle = ((laid.borders[index] ?? 0) + (laid.borders[index + 1] ?? 0)) / 2;
          return sensor !== null && <i key={zone.begins_m} class="sensor" style={{ left: `${x(middle)}%`, top: `${depth(sensor, scale)}%` }} />;
        })}
      </div>
      <ol class="run-zones">
        {run.zones.map((zone, index) => (
          <li key={zone.begins_m} style={{ left: `${x(((laid.borders[index] ?? 0) + (laid.borders[index + 1] ?? 0)) / 2)}%` }}>Zone {index + 1}</li>
        ))}
      </ol>
      <p class="run-ends"><span>0</span><span>{decimals(along === "place" ? convert(end, "length_m", units) : end, 1)}</span></p>
    </figure>
  );
}
