import { PARTIES, type RateChange, type RateChangeState, type Setting } from "../api/rate-change";
import type { Maybe } from "../api/types";
import { decimals } from "../figures/number";
import { withUnit, type Quantity } from "../figures/units";
import type { UnitSystem } from "../state/preferences";
import { listed, plain, sentence } from "./alert";

const REMEDIES: Record<string, string> = {
  "shorten-steam": "Shorten the steam",
  "open-exhaust": "Open the exhaust",
  "slow-band": "Slow the band",
  "raise-temperature": "Raise the temperature",
  "add-zone": "Add a zone",
};

/** A remedy as people say it; none where nothing but the band is touched. */
export function remedyName(kind: Maybe<string>): string {
  return kind ? REMEDIES[kind] ?? sentence(plain(kind)) : "Nothing but the band";
}

/** A chance in per cent. No prediction is certain. */
export function chance(pct: number): string {
  if (pct < 1) return "below 1 %";
  return pct > 99 ? "above 99 %" : `${decimals(pct, 0)} %`;
}

const STATES: Record<RateChangeState, string> = {
  "proposed": "proposed",
  "agreed": "agreed by all",
  "made": "made",
  "looked-at": "looked at a day later",
};

/** How far a rate change has come, and whom it waits for. */
export function standing(change: RateChange): string {
  const words = STATES[change.state] ?? plain(change.state);
  if (change.state !== "proposed") return words;
  const waits = PARTIES.filter((party) => change.not_agreed.includes(party));
  return `${words}, waits for ${listed(waits)}`;
}

// The units in which a review tells settings.
const QUANTITIES: Record<string, Quantity> = {
  "kg/h": "steam_kg_h",
  "m/min": "band_speed_m_min",
  "degC": "air_temperature_c",
  "m": "length_m",
  "%": "exhaust_damper_pct",
};

/** What is to be set: `Zone 2 damper: 45 % to 62 %`. */
export function settingWords(setting: Setting, units: UnitSystem): string {
  const [name = "", unit = ""] = setting.of.split(", ");
  const quantity = QUANTITIES[unit];
  const amount = (value: number) => (quantity === undefined ? `${decimals(value, 0)} ${unit}` : withUnit(value, quantity, units));
  const what = setting.zone ? `Zone ${setting.zone} ${name}` : sentence(name);
  return `${what}: ${amount(setting.from)} to ${amount(setting.to)}`;
}
