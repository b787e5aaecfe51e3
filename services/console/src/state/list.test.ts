import { afterEach, expect, test, vi } from "vitest";
import { gather } from "./list";

const signal = new AbortController().signal;

/** A service with items 1 to 5, two on a page. */
function service(): string[] {
  const asked: string[] = [];
  vi.stubGlobal("fetch", async (url: string) => {
    asked.push(url);
    const after = Number(new URL(url, "http://here").searchParams.get("cursor") ?? 0);
    const items = [1, 2, 3, 4, 5].slice(after, after + 2);
    return Response.json({ items, next: after + 2 < 5 ? String(after + 2) : null });
  });
  return asked;
}

afterEach(() => vi.unstubAllGlobals());

test("as many pages are asked for as are wanted, each from where the one before ended", async () => {
  const asked = service();
  expect(await gather("/signals", { line: "a" }, 2, signal)).toEqual({ items: [1, 2, 3, 4], next: "4" });
  expect(asked).toEqual(["/api/v1/signals?limit=500&line=a", "/api/v1/signals?limit=500&line=a&cursor=2"]);
});

test("the whole list ends with its last page", async () => {
  const asked = service();
  expect(await gather("/signals", {}, Infinity, signal)).toEqual({ items: [1, 2, 3, 4, 5], next: null });
  expect(asked).toHaveLength(3);
});
