import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import type { Rise } from "../api/line";
import { usePreferences } from "../state/preferences";
import { useView } from "../state/view";
import type { Panel } from "./columns";
import type { Inks } from "./inks";
import { options } from "./time-options";

/** One quantity over time. A person who cannot see it finds the same figures in the table below the charts. */
export function TimePanel({ panel, inks, times, rises, shown, onZoom }: {
  panel: Panel;
  inks: Inks;
  times: number[];
  rises: Rise[];
  shown: [number, number];
  onZoom(shown: [number, number]): void;
}) {
  const { clock } = useView();
  const [{ hours }] = usePreferences();
  const place = useRef<HTMLDivElement>(null);
  const chart = useRef<uPlot | null>(null);
  const drawn = useRef<unknown[]>([]);
  const newest = useRef({ rises, onZoom });
  newest.current = { rises, onZoom };

  // The chart is made anew only when it must look otherwise; new figures are given to the one that stands.
  useEffect(() => {
    const at = place.current;
    if (at === null) return;
    const made = new uPlot(options({
      panel, clock, inks, width: at.clientWidth,
      rises: () => newest.current.rises,
      onZoom: (range) => newest.current.onZoom(range),
    }), data(times, panel), at);
    made.setScale("x", { min: shown[0] / 1000, max: shown[1] / 1000 });
    chart.current = made;
    drawn.current = [times, panel, ...shown];
    const fitted = new ResizeObserver(() => {
      if (at.clientWidth !== made.width) made.setSize({ width: at.clientWidth, height: made.height });
    });
    fitted.observe(at);
    return () => {
      fitted.disconnect();
      made.destroy();
      chart.current = null;
    };
  }, [inks, hours, panel.title, panel.unit]);

  useEffect(() => {
    if ([times, panel, ...shown].every((one, index) => one === drawn.current[index])) return;
    drawn.current = [times, panel, ...shown];
    chart.current?.setData(data(times, panel), false);
    chart.current?.setScale("x", { min: shown[0] / 1000, max: shown[1] / 1000 });
  }, [times, panel, shown[0], shown[1]]);

  return (
    <figure class="time-panel">
      <figcaption>{panel.title}, {panel.unit}</figcaption>
      <div ref={place} class="time-chart" aria-hidden="true" />
    </figure>
  );
}

function data(times: number[], panel: Panel): uPlot.AlignedData {
  return [times.map((time) => time / 1000), ...panel.columns.map((column) => column.values)];
}
