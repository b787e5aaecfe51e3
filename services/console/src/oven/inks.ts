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

/** A custom property as the browser resolves it for the theme that holds. */
function resolve(name: string): string {
  const probe = document.createElement("span");
  probe.style.color = `var(--${name})`;
  document.body.append(probe);
  const { color } = getComputedStyle(probe);
  probe.remove();
  return color;
}

function readInks(): Inks {
  return {
    ink: resolve("ink"), quiet: resolve("quiet"), rule: resolve("rule"), ground: resolve("panel"), mark: resolve("edge"),
    shades: [resolve("shade-1"), resolve("shade-2"), resolve("shade-3")],
  };
}

/** The colours now, read anew when the theme changes. */
export function useInks(): Inks {
  const [{ theme }] = usePreferences();
  const [inks, setInks] = useState(readInks);
  useEffect(() => {
    const read = () => setInks(readInks());
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
