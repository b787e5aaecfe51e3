import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import type { Answer } from "../state/answer";

/** A page with its heading; the browser's title says where the reader is. */
export function PageFrame({ title, aside, children }: { title: string; aside?: ComponentChildren; children: ComponentChildren }) {
  useEffect(() => {
    document.title = `${title} · ovenward`;
  }, [title]);
  return (
    <div class="page">
      <div class="page-head">
        <h1 id="page-title" tabIndex={-1}>{title}</h1>
        {aside}
      </div>
      {children}
    </div>
  );
}

/** What an answer shows while there is none: that it is awaited, or why it did not come. */
export function Awaited<T>({ answer, missing, children }: {
  answer: Answer<T>;
  /** What to say where the service has no such thing. */
  missing?: string;
  children: (value: T) => ComponentChildren;
}) {
  if (answer.value !== null) {
    return (
      <>
        {answer.problem !== null && <p class="notice" role="status">Not renewed: {answer.problem.message}</p>}
        {children(answer.value)}
      </>
    );
  }
  if (answer.loading) return <p class="empty">One moment …</p>;
  const words = answer.problem?.isMissing && missing !== undefined ? missing : answer.problem?.message ?? "No answer.";
  return (
    <p class="notice" role="status">
      {words} <button type="button" class="plain" onClick={answer.ask}>Ask again</button>
    </p>
  );
}
