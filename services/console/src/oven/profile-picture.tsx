import type { Figure, Profile, ZoneProfile } from "../api/line";
import type { LineStatus } from "../api/types";
import { decimals } from "../figures/number";
import { depth, scaleOf, type Scale } from "../figures/scale";
import { sideOf } from "../figures/side";
import { convert, measure, type HumidityQuantity } from "../figures/units";
import { stretches, WIDTH } from "../ovens/ribbon-path";
import { useView } from "../state/view";

type ProfileQuantity = HumidityQuantity | "air_temperature_c";

/** One quantity along the oven: what is measured as points and a line, the normal's band as blocks behind it. */
export function ProfilePicture({ title, quantity, profile, line, fromZero }: {
  title: string;
  quantity: ProfileQuantity;
  profile: Profile;
  line: LineStatus;
  fromZero: boolean;
}) {
  const { units } = useView();
  const { unit, places } = measure(quantity, units);
  const zones = stretches(line.zones).map(({ zone, from, to }) => {
    const told = profile.zones.find((one) => one.zone === zone.zone);
    return { number: zone.zone, left: (from / WIDTH) * 100, right: (to / WIDTH) * 100, ...figures(told, quantity, (value) => convert(value, quantity, units)) };
  });
  const scale = scaleOf(zones.flatMap((zone) => [zone.observed, zone.expected, zone.low, zone.high]), fromZero);
  const points = zones.filter((zone) => zone.observed !== null).map((zone) => `${((zone.left + zone.right) / 2).toFixed(2)},${depth(zone.observed as number, scale).toFixed(2)}`);
  return (
    <figure class="profile" aria-hidden="true">
      <figcaption>{title}, {unit}</figcaption>
      <div class="profile-plot">
        <svg viewBox="0 0 100 100" preserveAspectRatio="none">
          {scale.marks.map((mark) => <path key={mark} class="grid" d={`M0 ${depth(mark, scale)}H100`} />)}
          {zones.slice(1).map((zone) => <path key={zone.number} class="wall" d={`M${zone.left} 0V100`} />)}
          {zones.map((zone) => <BandBlock key={zone.number} zone={zone} scale={scale} />)}
          <polyline class="observed" points={points.join(" ")} />
        </svg>
        {scale.marks.map((mark) => <span key={mark} class="axis" style={{ top: `${depth(mark, scale)}%` }}>{decimals(mark, Number.isInteger(mark) ? 0 : places)}</span>)}
        {zones.map((zone) => zone.observed !== null && (
          <span key={zone.number} class={`point ${sideOf(zone.observed, zone.low, zone.high)}`}
            style={{ left: `${(zone.left + zone.right) / 2}%`, top: `${depth(zone.observed, scale)}%` }}>
            <b>{decimals(zone.observed, places)}</b>
          </span>
        ))}
      </div>
      <ol class="profile-zones">{zones.map((zone) => <li key={zone.number} style={{ flexGrow: zone.right - zone.left }}>Zone {zone.number}</li>)}</ol>
    </figure>
  );
}

interface Known {
  observed: number | null;
  expected: number | null;
  low: number | null;
  high: number | null;
}

function figures(zone: ZoneProfile | undefined, quantity: ProfileQuantity, turn: (value: number | null | undefined) => number | null): Known {
  const figure: Partial<Figure> = zone?.[quantity] ?? {};
  return { observed: turn(figure.observed), expected: turn(figure.expected), low: turn(figure.low), high: turn(figure.high) };
}

function BandBlock({ zone, scale }: { zone: Known & { left: number; right: number }; scale: Scale }) {
  const inset = (zone.right - zone.left) * 0.08;
  const [from, to] = [zone.left + inset, zone.right - inset];
  return (
    <>
      {zone.low !== null && zone.high !== null && (
        <rect class="band" x={from} width={to - from} y={depth(zone.high, scale)} height={Math.max(depth(zone.low, scale) - depth(zone.high, scale), 0.8)} />
      )}
      {zone.expected !== null && <path class="expected" d={`M${from} ${depth(zone.expected, scale)}H${to}`} />}
    </>
  );
}
