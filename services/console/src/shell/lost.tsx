import { stretch } from "../figures/clock";

/** Says that what is shown is no news any more. Greyed figures alone are easily taken for good ones. */
export function Lost({ heard, now, connected }: { heard: number | null; now: number; connected: boolean }) {
  const since = heard === null ? "" : ` Last heard ${stretch(now - heard)} ago.`;
  return (
    <p class="lost" role="alert">
      <strong>Out of date.</strong> {connected ? "The service is silent." : "The service cannot be reached; it is tried again."}
      <span aria-live="off">{since}</span>
    </p>
  );
}
