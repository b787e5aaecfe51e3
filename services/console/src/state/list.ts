import { useState } from "preact/hooks";
import { get, type Query } from "../api/client";
import type { Page } from "../api/types";
import { type Answer, useAsked } from "./answer";

/** The most items on a page of the API. */
const PAGE = 500;

/** A list that comes in pages. */
export interface List<T> extends Answer<Page<T>> {
  /** Asks for the next page too; none on the last. */
  more: (() => void) | null;
}

/** Asks for the first page of a list, and for as many more as somebody wants to see. */
export function useList<T>(path: string, query: Query = {}, every?: number): List<T> {
  const [pages, setPages] = useState(1);
  const answer = useAsked<Page<T>>(path, JSON.stringify([query, pages]), (signal) => gather<T>(path, query, pages, signal), every);
  return { ...answer, more: answer.value?.next ? () => setPages(pages + 1) : null };
}

/** Asks for the whole of a list that does not grow with time. */
export function useWholeList<T>(path: string, query: Query = {}, every?: number): Answer<Page<T>> {
  return useAsked<Page<T>>(path, JSON.stringify(query), (signal) => gather<T>(path, query, Infinity, signal), every);
}

/** The first pages of a list as one. */
export async function gather<T>(path: string, query: Query, pages: number, signal: AbortSignal): Promise<Page<T>> {
  const items: T[] = [];
  let next: string | null = null;
  for (let page = 0; page < pages && (page === 0 || next !== null); page += 1) {
    const told: Page<T> = await get<Page<T>>(path, { limit: PAGE, ...query, cursor: next }, signal);
    items.push(...told.items);
    next = told.next ?? null;
  }
  return { items, next };
}
