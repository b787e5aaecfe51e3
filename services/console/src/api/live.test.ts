import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { listen } from "./live";

class Source extends EventTarget {
  static opened: Source[] = [];
  closed = false;
  constructor(readonly url: string) {
    super();
    Source.opened.push(this);
  }
  close() {
    this.closed = true;
  }
}

const open = (url: string) => new Source(url) as unknown as EventSource;
const events = () => ({ status: vi.fn(), alert: vi.fn(), lost: vi.fn() });

beforeEach(() => {
  vi.useFakeTimers();
  Source.opened = [];
});
afterEach(() => vi.useRealTimers());

test("a lost connection is said and tried again, ever more slowly, for as long as it takes", () => {
  const heard = events();
  const stop = listen(heard, open);
  for (let round = 1; round <= 8; round += 1) {
    Source.opened.at(-1)?.dispatchEvent(new Event("error"));
    expect(heard.lost).toHaveBeenCalledTimes(round);
    vi.advanceTimersByTime(15000);
    expect(Source.opened).toHaveLength(round + 1);
  }
  stop();
  expect(Source.opened.at(-1)?.closed).toBe(true);
});

test("what is heard is handed on", () => {
  const heard = events();
  listen(heard, open);
  Source.opened[0]?.dispatchEvent(new MessageEvent("status", { data: '{"name":"Millbrook"}' }));
  Source.opened[0]?.dispatchEvent(new MessageEvent("alert", { data: '{"id":"a"}' }));
  expect(heard.status).toHaveBeenCalledWith({ name: "Millbrook" });
  expect(heard.alert).toHaveBeenCalledWith({ id: "a" });
});

test("once stopped, nothing is tried again", () => {
  const stop = listen(events(), open);
  Source.opened[0]?.dispatchEvent(new Event("error"));
  stop();
  vi.advanceTimersByTime(60000);
  expect(Source.opened).toHaveLength(1);
});
