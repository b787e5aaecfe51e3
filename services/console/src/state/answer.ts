import { useCallback, useEffect, useState } from "preact/hooks";
import { ApiProblem, get, type Query } from "../api/client";

/** What the service answered to a question: not yet, this, or that it could not. */
export interface Answer<T> {
  value: T | null;
  problem: ApiProblem | null;
  loading: boolean;
  ask(): void;
}

/** Asks the API, again whenever the question changes, and every `every` ms where given. None asks nothing. */
export function useAnswer<T>(path: string | null, query: Query = {}, every?: number): Answer<T> {
  return useAsked<T>(path, JSON.stringify(query), (signal) => get<T>(path ?? "", query, signal), every);
}

/** Asks about a subject; `which` tells one question about it from another. Without a subject nothing is asked. */
export function useAsked<T>(subject: string | null, which: string, fetch: (signal: AbortSignal) => Promise<T>, every?: number): Answer<T> {
  const [state, setState] = useState<Omit<Answer<T>, "ask">>({ value: null, problem: null, loading: subject !== null });
  const [round, setRound] = useState(0);
  const question = subject === null ? null : `${subject} ${which}`;

  // Another thing is asked for: what was known of the last one is not shown as if it were of this one. The same
  // thing in another stretch of time stays until the answer is there, so that nothing flickers.
  useEffect(() => {
    setState({ value: null, problem: null, loading: subject !== null });
  }, [subject]);

  useEffect(() => {
    if (question === null) return;
    const abort = new AbortController();
    setState((known) => ({ ...known, loading: true }));
    fetch(abort.signal).then(
      (value) => setState({ value, problem: null, loading: false }),
      (error: unknown) => {
        if (abort.signal.aborted) return;
        const problem = error instanceof ApiProblem ? error : new ApiProblem(0, String(error));
        // A figure that was there stays, with the problem beside it.
        setState((known) => ({ ...known, problem, loading: false }));
      },
    );
    return () => abort.abort();
  }, [question, round]);

  useEffect(() => {
    if (every === undefined || question === null) return;
    const timer = setInterval(() => setRound((number) => number + 1), every);
    return () => clearInterval(timer);
  }, [every, question]);

  const ask = useCallback(() => setRound((number) => number + 1), []);
  return { ...state, ask };
}
