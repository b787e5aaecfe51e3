import { createContext, type ComponentChildren } from "preact";
import { useContext, useEffect, useMemo, useState } from "preact/hooks";

export type UnitSystem = "metric" | "us";
export type Theme = "system" | "light" | "dark";
export type Humidity = "moisture" | "dew-point" | "humidity-ratio";

/** How a person wants to see figures; kept in the browser, never in the plant. */
export interface Preferences {
  units: UnitSystem;
  hours: "24" | "12";
  theme: Theme;
  humidity: Humidity;
  /** Who is answering alerts from this screen, where nobody signs in. */
  name: string;
}

export const DEFAULTS: Preferences = { units: "metric", hours: "24", theme: "system", humidity: "moisture", name: "" };
const CHOICES: { [K in keyof Preferences]?: readonly Preferences[K][] } = {
  units: ["metric", "us"],
  hours: ["24", "12"],
  theme: ["system", "light", "dark"],
  humidity: ["moisture", "dew-point", "humidity-ratio"],
};
const KEY = "ovenward.preferences";

/** Reads what was kept; what is not understood becomes the default. */
export function readPreferences(text: string | null): Preferences {
  let kept: Partial<Record<keyof Preferences, unknown>> = {};
  try {
    kept = (JSON.parse(text ?? "{}") ?? {}) as typeof kept;
  } catch {
    return DEFAULTS;
  }
  const pick = <K extends keyof Preferences>(key: K): Preferences[K] => {
    const value = kept[key] as Preferences[K];
    const allowed = CHOICES[key] as readonly Preferences[K][] | undefined;
    if (allowed !== undefined) return allowed.includes(value) ? value : DEFAULTS[key];
    return typeof value === "string" ? value : DEFAULTS[key];
  };
  return { units: pick("units"), hours: pick("hours"), theme: pick("theme"), humidity: pick("humidity"), name: pick("name") };
}

type Change = (change: Partial<Preferences>) => void;
const Context = createContext<[Preferences, Change]>([DEFAULTS, () => {}]);

export function PreferencesProvider({ children }: { children: ComponentChildren }) {
  const [preferences, set] = useState(() => readPreferences(localStorage.getItem(KEY)));
  useEffect(() => {
    localStorage.setItem(KEY, JSON.stringify(preferences));
    const root = document.documentElement;
    if (preferences.theme === "system") root.removeAttribute("data-theme");
    else root.dataset["theme"] = preferences.theme;
  }, [preferences]);
  const value = useMemo<[Preferences, Change]>(
    () => [preferences, (change) => set((known) => ({ ...known, ...change }))],
    [preferences],
  );
  return <Context.Provider value={value}>{children}</Context.Provider>;
}

export const usePreferences = (): [Preferences, Change] => useContext(Context);
