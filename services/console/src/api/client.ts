import type { ProblemDetails } from "./types";

const ROOT = "/api/v1";

/** An answer that was not the wanted one, in words for people. */
export class ApiProblem extends Error {
  constructor(readonly status: number, message: string) {
    super(message);
  }

  /** The service has no such route or no such thing. */
  get isMissing(): boolean {
    return this.status === 404;
  }

  /** Nobody is signed in, or not for long enough. */
  get needsSignIn(): boolean {
    return this.status === 401;
  }
}

export type Query = Record<string, string | number | null | undefined>;

/** `path` under the API with what `query` has to say. */
export function address(path: string, query: Query = {}): string {
  const given = Object.entries(query).filter(([, value]) => value !== null && value !== undefined && value !== "");
  const search = new URLSearchParams(given.map(([key, value]) => [key, String(value)])).toString();
  return search === "" ? ROOT + path : `${ROOT}${path}?${search}`;
}

export function get<T>(path: string, query: Query = {}, signal?: AbortSignal): Promise<T> {
  return call<T>(address(path, query), signal === undefined ? {} : { signal });
}

export function send<T>(method: "POST" | "DELETE", path: string, body?: unknown): Promise<T> {
  const headers = { "content-type": "application/json" };
  return call<T>(address(path), body === undefined ? { method, headers } : { method, headers, body: JSON.stringify(body) });
}

/** Sends a file as it is. */
export function upload<T>(path: string, query: Query, file: Blob, type: string): Promise<T> {
  return call<T>(address(path, query), { method: "POST", headers: { "content-type": type }, body: file });
}

async function call<T>(url: string, init: RequestInit): Promise<T> {
  let response: Response;
  try {
    response = await fetch(url, { ...init, credentials: "same-origin" });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new ApiProblem(0, "The service cannot be reached. What is shown may be out of date.");
  }
  if (!response.ok) throw new ApiProblem(response.status, await words(response));
  return response.status === 204 ? (undefined as T) : ((await response.json()) as T);
}

async function words(response: Response): Promise<string> {
  const problem = (await response.json().catch(() => ({}))) as ProblemDetails;
  return problem.detail ?? problem.title ?? `The service answered ${response.status}.`;
}
