import type { ComponentChildren } from "preact";

/** Holds what may be wider than the screen; with the keyboard it is scrolled once it has the focus. */
export function Scroll({ children }: { children: ComponentChildren }) {
  return <div class="scroll" tabIndex={0} role="group" aria-label="Table, scrolls sideways">{children}</div>;
}
