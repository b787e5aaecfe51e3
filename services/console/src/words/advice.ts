import type { Advice } from "../api/types";
import { decimals, isFigure } from "../figures/number";
import { withUnit } from "../figures/units";
import type { UnitSystem } from "../state/preferences";
import { plain, sentence } from "./alert";

/** One thing to try, in a few words that can be read from afar. */
export function order(advice: Advice, units: UnitSystem): string {
  const exhaust = (verb: string) => {
    const where = advice.zone ? `${verb} the exhaust of zone ${advice.zone}` : `${verb} the exhaust`;
    return isFigure(advice.to_pct) ? `${where} to ${decimals(advice.to_pct, 0)} %` : where;
  };
  switch (advice.step) {
    case "check-steam-valve":
      return "Check the steam valve";
    case "open-exhaust":
      return exhaust("Open");
    case "close-exhaust":
      return exhaust("Close");
    case "slow-band":
      return isFigure(advice.to_m_min) ? `Slow the band to ${withUnit(advice.to_m_min, "band_speed_m_min", units)}` : "Slow the band";
    case "raise-temperature":
      return isFigure(advice.by_c) ? `Raise the temperature by ${withUnit(advice.by_c, "temperature_step_c", units)}` : "Raise the temperature";
    case "check-damper":
      return advice.zone ? `Check the damper of zone ${advice.zone}` : "Check the damper";
    case "check-burner":
      return advice.zone ? `Check the burner of zone ${advice.zone}` : "Check the burner";
    default:
      return sentence(plain(advice.step));
  }
}
