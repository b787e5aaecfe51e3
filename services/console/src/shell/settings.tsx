import { useEffect, useRef, useState } from "preact/hooks";
import { Choice } from "../parts/choice";
import { usePreferences } from "../state/preferences";

/** How this person wants to see figures. Kept in this browser. */
export function Settings() {
  const [open, setOpen] = useState(false);
  const box = useRef<HTMLDivElement>(null);
  const opener = useRef<HTMLButtonElement>(null);

  useEffect(() => {
    if (!open) return;
    const outside = (event: Event) => {
      if (!box.current?.contains(event.target as Node)) setOpen(false);
    };
    const escape = (event: KeyboardEvent) => {
      if (event.key !== "Escape") return;
      setOpen(false);
      opener.current?.focus();
    };
    document.addEventListener("pointerdown", outside);
    document.addEventListener("keydown", escape);
    return () => {
      document.removeEventListener("pointerdown", outside);
      document.removeEventListener("keydown", escape);
    };
  }, [open]);

  return (
    <div class="settings" ref={box}>
      <button type="button" ref={opener} aria-expanded={open} aria-controls="settings" onClick={() => setOpen(!open)}>Display</button>
      {open && <SettingsForm />}
    </div>
  );
}

function SettingsForm() {
  const [preferences, change] = usePreferences();
  return (
    <div class="settings-box" id="settings" role="group" aria-label="Display">
      <Choice label="Units" name="units" value={preferences.units} options={[["metric", "Metric"], ["us", "US"]]}
        onChange={(units) => change({ units })} />
      <Choice label="Clock" name="hours" value={preferences.hours} options={[["24", "24 h"], ["12", "12 h"]]}
        onChange={(hours) => change({ hours })} />
      <Choice label="Light" name="theme" value={preferences.theme}
        options={[["system", "As the screen"], ["light", "Light"], ["dark", "Dark"]]} onChange={(theme) => change({ theme })} />
      <Choice label="Humidity as" name="humidity" value={preferences.humidity}
        options={[["moisture", "% vol"], ["dew-point", "Dew point"], ["humidity-ratio", preferences.units === "us" ? "lb/lb" : "g/kg"]]}
        onChange={(humidity) => change({ humidity })} />
    </div>
  );
}
