import uPlot from "uplot";
import type { Rise } from "../api/line";
import type { Clock } from "../figures/clock";
import { decimals, signed } from "../figures/number";
import type { Panel } from "./columns";
import type { Inks } from "./inks";

const FONT = "13px system-ui, sans-serif";
const DASHES: (number[] | undefined)[] = [undefined, [8, 4], [2, 4]];

interface Wanted {
  panel: Panel;
  clock: Clock;
  inks: Inks;
  width: number;
  rises(): Rise[];
  onZoom(range: [number, number]): void;
}

/** How a panel is drawn: zones from dark to light and solid to dotted, told apart without colour and by name at their end. */
export function options({ panel, clock, inks, width, rises, onZoom }: Wanted): uPlot.Options {
  const single = panel.columns.length === 1;
  const axis = { stroke: inks.quiet, font: FONT, grid: { stroke: inks.rule, width: 1 }, ticks: { show: false } };
  return {
    width,
    padding: [8, 34, 0, 0],
    height: single ? 120 : 210,
    cursor: {
      sync: { key: "hours" },
      drag: { x: true, y: false, setScale: false },
      bind: { dblclick: () => null },
      points: { size: 7 },
    },
    legend: { live: true },
    // Every time is written by the bakery's clock, so the chart's own is not used.
    scales: { x: { time: false } },
    axes: [
      { ...axis, size: 28, space: 90, values: (_, marks) => marks.map((mark) => clock.time(mark * 1000)), incrs: [60, 300, 600, 900, 1800, 3600, 7200, 14400] },
      { ...axis, size: 56, space: 34 },
    ],
    series: [
      { label: "Time", value: (_, time) => (time === null || time === undefined ? "–" : clock.time(time * 1000)) },
      ...panel.columns.map((column, index): uPlot.Series => {
        const dash = DASHES[Math.floor(index / inks.shades.length) % DASHES.length];
        return {
          label: column.label,
          stroke: inks.shades[index % inks.shades.length] ?? inks.ink,
          width: 2,
          ...(dash && { dash }),
          points: { show: false },
          value: (_, value) => decimals(value, panel.places),
        };
      }),
    ],
    hooks: {
      setSelect: [(chart) => {
        const { left, width: chosen } = chart.select;
        if (chosen < 4) return;
        onZoom([chart.posToVal(left, "x") * 1000, chart.posToVal(left + chosen, "x") * 1000]);
        chart.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
      }],
      draw: [(chart) => drawRises(chart, rises(), inks, panel.columns[0]?.quantity === "band_speed_m_min"), (chart) => drawNames(chart, panel, inks)],
    },
  };
}

function drawRises(chart: uPlot, rises: Rise[], inks: Inks, named: boolean): void {
  const { ctx, bbox } = chart;
  ctx.save();
  ctx.strokeStyle = inks.mark;
  ctx.fillStyle = inks.quiet;
  ctx.setLineDash([3 * devicePixelRatio, 3 * devicePixelRatio]);
  ctx.font = `${12 * devicePixelRatio}px system-ui, sans-serif`;
  ctx.textAlign = "left";
  for (const rise of rises) {
    const x = chart.valToPos(Date.parse(rise.began) / 1000, "x", true);
    if (x < bbox.left || x > bbox.left + bbox.width) continue;
    ctx.beginPath();
    ctx.moveTo(x, bbox.top);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
    if (named) ctx.fillText(`${signed(rise.rise_pct, 1)} %`, x + 4 * devicePixelRatio, bbox.top + bbox.height - 5 * devicePixelRatio);
  }
  ctx.restore();
}

/** Writes the name of each zone behind the end of its line, one under another where they would overlap. */
function drawNames(chart: uPlot, panel: Panel, inks: Inks): void {
  if (panel.columns.length === 1) return;
  const { ctx, bbox } = chart;
  const [, end = 0] = chart.series[0]?.idxs ?? [];
  const size = 12 * devicePixelRatio;
  const ends = panel.columns
    .map((column) => ({ name: column.short, value: column.values[end] }))
    .filter((one): one is { name: string; value: number } => typeof one.value === "number")
    .map(({ name, value }) => ({ name, y: chart.valToPos(value, "y", true) }))
    .sort((a, b) => a.y - b.y);
  ctx.save();
  ctx.font = `600 ${size}px system-ui, sans-serif`;
  ctx.fillStyle = inks.ink;
  ctx.textAlign = "left";
  // From the top each takes the first free line at or below its end; from the bottom none may leave the panel.
  const lines: number[] = [];
  for (const { y } of ends) lines.push(Math.max(y - 4 * devicePixelRatio, (lines.at(-1) ?? bbox.top) + size));
  let limit = bbox.top + bbox.height - 2 * devicePixelRatio;
  for (let index = lines.length - 1; index >= 0; index -= 1) {
    lines[index] = Math.min(lines[index] ?? limit, limit);
    limit = (lines[index] ?? limit) - size;
  }
  ends.forEach(({ name }, index) => ctx.fillText(name, bbox.left + bbox.width + 6 * devicePixelRatio, lines[index] ?? limit));
  ctx.restore();
}
