/** What the first lines of a logger's file look like. */
export interface LoggerHeader {
  separator: string;
  columns: string[];
  /** The cells of the first row of figures. */
  first: string[];
}

/** Which column holds what. */
export interface LoggerColumns {
  time: string;
  temperature: string;
  humidity: string;
  /** What the humidity column holds. */
  kind: "dew-point" | "moisture";
  unit: "degC" | "degF";
}

const SEPARATORS = [",", ";", "\t"] as const;

/** Reads the header of a file from its beginning; none where it has no columns. */
export function readHeader(text: string): LoggerHeader | null {
  const [head = "", first = ""] = text.split(/\r?\n/);
  const separator = SEPARATORS.toSorted((a, b) => head.split(b).length - head.split(a).length)[0] ?? ",";
  // A byte order mark counts as white space.
  const cells = (line: string) => line.split(separator).map((cell) => cell.trim().replace(/^"(.*)"$/, "$1"));
  const columns = cells(head);
  return columns.length < 2 || columns.includes("") ? null : { separator, columns, first: cells(first) };
}

/** Guesses which column holds what, from its name; a person looks at it before anything is sent. */
export function guessColumns(columns: string[]): LoggerColumns {
  const named = (pattern: RegExp) => columns.find((column) => pattern.test(column));
  const dew = named(/dew/i);
  const moisture = named(/moist|vol|humid/i);
  const humidity = dew ?? moisture ?? columns[2] ?? "";
  const temperature = columns.find((column) => /temp|air|°|deg/i.test(column) && column !== humidity) ?? columns[1] ?? "";
  return {
    time: named(/time|date|stamp/i) ?? columns[0] ?? "",
    temperature,
    humidity,
    kind: dew === undefined && moisture !== undefined ? "moisture" : "dew-point",
    unit: /degf|°f|_f\b|fahrenheit/i.test(temperature) ? "degF" : "degC",
  };
}

/** Places such as `1.2, 2.4`, each turned into what the wire wants; none where something in it is no number. */
export function places(text: string, turn: (place: number) => number): string | null {
  const numbers = text.split(/[\s,;]+/).filter((part) => part !== "").map(Number);
  return numbers.some((number) => !Number.isFinite(number)) ? null : numbers.map((number) => Number(turn(number).toPrecision(6))).join(",");
}
