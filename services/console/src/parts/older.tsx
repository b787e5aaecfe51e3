/** Leads on to older items of a list; nothing where there are none. */
export function Older({ more }: { more: (() => void) | null }) {
  return more === null ? null : <p class="older"><button type="button" onClick={more}>Older</button></p>;
}
