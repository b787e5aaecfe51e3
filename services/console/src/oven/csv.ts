import type { History } from "../api/line";
import type { Panel } from "./columns";

/** A cell as RFC 4180 wants it; what a spreadsheet would take for a formula is kept text. */
export function cell(text: string): string {
  const safe = /^[=+\-@\t]/.test(text) && Number.isNaN(Number(text)) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** What is shown, from row `first` to before `last`: time as RFC 3339, then state, product and every figure with its unit. */
export function csv(history: History, panels: Panel[], first: number, last: number): string {
  const columns = panels.flatMap((panel) => panel.columns.map((column) => ({ ...column, name: columnName(panel, column.short) })));
  const head = ["time", "state", "product", ...columns.map((column) => column.name)];
  const rows = [];
  for (let row = first; row < last; row += 1) {
    const figures = columns.map(({ values }) => {
      const value = values[row];
      return value === null || value === undefined ? "" : String(Number(value.toPrecision(6)));
    });
    rows.push([history.time[row] ?? "", history.state[row] ?? "", history.product[row] ?? "", ...figures]);
  }
  return [head, ...rows].map((row) => row.map(cell).join(",")).join("\r\n") + "\r\n";
}

function columnName(panel: Panel, short: string): string {
  const name = short === "" ? panel.title : `${panel.title} ${short}`;
  return `${name} (${panel.unit})`;
}

/** Hands a file to the person at the browser; nothing leaves the machine. */
export function save(name: string, content: Blob): void {
  const url = URL.createObjectURL(content);
  const anchor = document.createElement("a");
  anchor.href = url;
  anchor.download = name;
  anchor.click();
  setTimeout(() => URL.revokeObjectURL(url), 1000);
}
