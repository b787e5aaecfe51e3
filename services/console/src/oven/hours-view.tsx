import { useMemo, useRef, useState } from "preact/hooks";
import type { History } from "../api/line";
import type { LineStatus } from "../api/types";
import { HUMIDITY } from "../figures/units";
import { usePreferences } from "../state/preferences";
import { useView } from "../state/view";
import { panels as panelsOf, within } from "./columns";
import { csv, save } from "./csv";
import { HoursTable } from "./hours-table";
import { useInks } from "./inks";
import { drawPicture } from "./picture";
import { TimePanel } from "./time-panel";

/** The hours as charts over one time, and as a table. What is zoomed to is what the table and the files hold. */
export function HoursView({ history, line }: { history: History; line: LineStatus }) {
  const { clock, units, now } = useView();
  const [{ humidity }] = usePreferences();
  const [zoom, setZoom] = useState<[number, number] | null>(null);
  const charts = useRef<HTMLDivElement>(null);
  const inks = useInks();

  const panels = useMemo(() => panelsOf(history, HUMIDITY[humidity], units), [history, humidity, units]);
  const times = useMemo(() => history.time.map((time) => Date.parse(time)), [history]);
  const whole: [number, number] = [times[0] ?? 0, times.at(-1) ?? 0];
  const shown = zoom ?? whole;
  const [first, last] = within(times, shown[0], shown[1]);
  const words = `${clock.moment(shown[0], now)} to ${clock.moment(shown[1], now)}`;
  const name = `${line.id}_${clock.isoDate(shown[0])}_${clock.time(shown[0]).replace(/\D+/g, "")}`;

  const magnify = (factor: number) => {
    const middle = (shown[0] + shown[1]) / 2;
    const half = Math.max(((shown[1] - shown[0]) / 2) * factor, history.step_s * 2000);
    setZoom(middle - half <= whole[0] && middle + half >= whole[1] ? null : [Math.max(middle - half, whole[0]), Math.min(middle + half, whole[1])]);
  };

  return (
    <>
      <div class="hours-tools">
        <span class="quiet">{words}</span>
        <button type="button" onClick={() => magnify(0.5)}>Zoom in</button>
        <button type="button" disabled={zoom === null} onClick={() => magnify(2)}>Zoom out</button>
        <button type="button" disabled={zoom === null} onClick={() => setZoom(null)}>Whole stretch</button>
        <span class="push" />
        <button type="button" onClick={() => save(`${name}.csv`, new Blob([csv(history, panels, first, last)], { type: "text/csv" }))}>Save CSV</button>
        <button type="button" onClick={() => charts.current && drawPicture(charts.current, `${line.name}, ${clock.date(shown[0])}, ${words}`).then((picture) => save(`${name}.png`, picture))}>Save PNG</button>
      </div>
      <div ref={charts} class="charts">
        {panels.map((panel) => (
          <TimePanel key={panel.title + panel.unit + panel.columns.length} panel={panel} inks={inks} times={times} rises={history.rises} shown={shown} onZoom={setZoom} />
        ))}
      </div>
      <p class="legend">Drag across a chart to zoom; vertical marks are rises of the band speed. Figures are means of {history.step_s} s.</p>
      <HoursTable history={history} panels={panels} first={first} last={last} />
    </>
  );
}
