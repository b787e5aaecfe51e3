import { useEffect, useState } from "preact/hooks";
import { usePreferences } from "../state/preferences";

/** The colours of the theme as a canvas wants them. */
export interface Inks {
  ink: string;
  quiet: string;
  rule: string;
  ground: string;
  mark: string;
  shades: string[];
}

/** Custom properties as the browser resolves them for the theme that holds: one element is asked for all of them. */
function readInks(): Inks {
  const probe = document.createElement("span");
  document.body.append(probe);
  const resolve = (name: string) => {
    probe.style.color = `var(--${name})`;
    return getComputedStyle(probe).color;
  };
  const inks = {
    ink: resolve("ink"), quiet: resolve("quiet"), rule: resolve("rule"), ground: resolve("panel"), mark: resolve("edge"),
    shades: ["shade-1", "shade-2", "shade-3"].map(resolve),
  };
  probe.remove();
  return inks;
}

/** The colours now, read anew when the theme changes; the same object as long as they are the same. */
export function useInks(): Inks {
  const [{ theme }] = usePreferences();
  const [inks, setInks] = useState(readInks);
  useEffect(() => {
    const read = () => {
      const now = readInks();
      setInks((known) => (JSON.stringify(known) === JSON.stringify(now) ? known : now));
    };
    // The theme is set on the document by an effect of its own, which runs after this one.
    const timer = setTimeout(read, 0);
    const dark = matchMedia("(prefers-color-scheme: dark)");
    dark.addEventListener("change", read);
    return () => {
      clearTimeout(timer);
      dark.removeEventListener("change", read);
    };
  }, [theme]);
  return inks;
}
