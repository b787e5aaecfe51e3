import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Lines } from "../api/line";
import type { PlantStatus } from "../api/types";
import type { Clock } from "../figures/clock";
import type { UnitSystem } from "./preferences";

/** What every part of a page needs to write figures and times. */
export interface View {
  status: PlantStatus;
  /** The plant as the config describes it; none until the service has told. */
  model: Lines | null;
  clock: Clock;
  units: UnitSystem;
  /** Plant time now, RFC 3339. */
  now: string;
  /** What is shown is out of date. */
  old: boolean;
}

export const ViewContext = createContext<View | null>(null);

export function useView(): View {
  const view = useContext(ViewContext);
  if (view === null) throw new Error("a part that needs the plant stands outside of it");
  return view;
}
