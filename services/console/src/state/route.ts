import { useEffect, useState } from "preact/hooks";

/** Where the reader is: the path after `#/` in parts, and what stands behind `?`. */
export interface Route {
  parts: string[];
  query: URLSearchParams;
}

/** Reads an address fragment such as `#/ovens/tunnel-1?hours=8`. */
export function readRoute(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?");
  const parts = path.split("/").filter((part) => part !== "").map(decode);
  return { parts, query: new URLSearchParams(query) };
}

function decode(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/** The address of a page of the console. */
export function link(parts: string[], query: Record<string, string> = {}): string {
  const path = `#/${parts.map(encodeURIComponent).join("/")}`;
  const search = new URLSearchParams(query).toString();
  return search === "" ? path : `${path}?${search}`;
}

/** Changes what stands behind `?` without a new entry in the browser's history. */
export function replaceQuery(route: Route, change: Record<string, string>): void {
  const query = { ...Object.fromEntries(route.query), ...change };
  history.replaceState(null, "", link(route.parts, query));
  window.dispatchEvent(new HashChangeEvent("hashchange"));
}

export function useRoute(): Route {
  const [route, setRoute] = useState(() => readRoute(location.hash));
  useEffect(() => {
    const changed = () => setRoute(readRoute(location.hash));
    window.addEventListener("hashchange", changed);
    return () => window.removeEventListener("hashchange", changed);
  }, []);
  return route;
}
