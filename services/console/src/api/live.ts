import type { Alert, PlantStatus } from "./types";
import { address } from "./client";

/** What a listener hears. */
export interface LiveEvents {
  status(status: PlantStatus): void;
  alert(alert: Alert): void;
  /** The connection is lost; it is tried again by itself. */
  lost(): void;
}

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 15000;

/**
 * Listens to the plant until told to stop. A browser retries a broken stream by itself, but gives up for good when
 * the service answers with an error while it starts: so the retry is ours, and it never gives up.
 */
export function listen(events: LiveEvents, open: (url: string) => EventSource = (url) => new EventSource(url)): () => void {
  let source: EventSource | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let wait = FIRST_WAIT_MS;

  const connect = () => {
    source = open(address("/live"));
    source.addEventListener("status", (event) => {
      wait = FIRST_WAIT_MS;
      events.status(JSON.parse((event as MessageEvent<string>).data) as PlantStatus);
    });
    source.addEventListener("alert", (event) => {
      events.alert(JSON.parse((event as MessageEvent<string>).data) as Alert);
    });
    source.addEventListener("error", () => {
      source?.close();
      events.lost();
      timer = setTimeout(connect, wait);
      wait = Math.min(wait * 2, LONGEST_WAIT_MS);
    });
  };

  connect();
  return () => {
    clearTimeout(timer);
    source?.close();
  };
}
