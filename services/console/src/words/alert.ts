import type { Alert, AlertState, PlantStatus, Priority } from "../api/types";

/** `stuck-valve` as people write it: `stuck valve`. */
export const plain = (code: string): string => code.replaceAll("-", " ");

/** With a capital letter. */
export const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** `a, b and c`. */
export const listed = (names: readonly string[]): string =>
  names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;

const FINDINGS: Record<string, string> = {
  "carryover": "overloaded",
  "steam-short": "too little steam",
  "over-vented": "too much exhaust",
  "zone3-limit": "over the limit in zone 3",
  "no-response": "no answer to the higher speed",
  "damper": "a damper stands otherwise than usual",
  "steam": "the steam has changed",
  "temperature": "the temperature of a zone has changed",
  "unexplained": "not as it usually runs",
  "steam-without-product": "steam without product",
  "steam-too-long": "too long under steam",
  "silent": "a signal is silent",
  "stuck": "a signal is stuck",
  "out-of-range": "a signal is out of range",
  "impossible": "two signals contradict each other",
};

const KINDS: Record<string, string> = {
  "unmatched-speed-rise": "Band faster, moisture does not match",
  "departs-from-normal": "Departs from normal",
  "over-steaming": "Over-steaming",
  "zone3-limit": "Zone 3 limit",
  "sensor-fault": "Sensor fault",
};

const STATES: Record<AlertState, string> = {
  "unacknowledged": "unacknowledged",
  "acknowledged": "acknowledged",
  "shelved": "shelved",
  "out-of-service": "out of service",
  "returned-unacknowledged": "returned to normal, unacknowledged",
  "returned-acknowledged": "returned to normal",
  "returned-suppressed": "returned to normal while suppressed",
};

/** What is wrong, in a few words. */
export function trouble(alert: Alert): string {
  const finding = alert.finding ?? "";
  return finding === "" ? "an alert" : FINDINGS[finding] ?? plain(finding);
}

export const kindName = (kind: string): string => KINDS[kind] ?? sentence(plain(kind));
export const stateName = (state: AlertState): string => STATES[state] ?? plain(state);

/** The name of a line; its id, should the line be gone. */
export function lineName(status: PlantStatus, id: string): string {
  return status.lines.find((line) => line.id === id)?.name ?? id;
}

/** Whether the cause is still there. */
export const stands = (alert: Alert): boolean => alert.ended === null || alert.ended === undefined;

/** Whether it stands and calls nobody, because somebody wanted it so. */
export const isQuiet = (alert: Alert): boolean => alert.state === "shelved" || alert.state === "out-of-service";

/** Whether somebody must still say that it was seen. */
export const isUnanswered = (alert: Alert): boolean =>
  alert.state === "unacknowledged" || alert.state === "returned-unacknowledged";

const URGENCY: Record<Priority, number> = { high: 0, medium: 1, low: 2 };

/** How soon a person should look, 0 first; a priority of a later version comes first too. */
export const urgency = (alert: Alert): number => URGENCY[alert.priority] ?? 0;

/** The alerts that stand and call somebody: unanswered before answered, urgent before less urgent, then the newest. */
export function calling(alerts: Alert[]): Alert[] {
  const rank = (alert: Alert) => (isUnanswered(alert) ? 0 : 3) + urgency(alert);
  return alerts
    .filter((alert) => stands(alert) && !isQuiet(alert))
    .sort((a, b) => rank(a) - rank(b) || b.raised.localeCompare(a.raised));
}
