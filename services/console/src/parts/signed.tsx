import { useState } from "preact/hooks";
import { ApiProblem } from "../api/client";
import { usePreferences } from "../state/preferences";
import { useSession } from "../state/session";

/** A change of something kept: it carries the name of who made it. */
export interface Signed {
  /** Whether it is known who is at work here. */
  named: boolean;
  /** The name as a change sends it: none where the session tells it. */
  who: { by?: string };
  /** Something is on its way. */
  busy: boolean;
  said: { words: string; failed: boolean } | null;
  /** Does it, and says `words` or, in the service's own words, why not; whether it was done. */
  act(words: string, action: () => Promise<unknown>): Promise<boolean>;
}

/** Lets a person change something; `changed` is called when it was done. */
export function useSigned(changed: () => void): Signed {
  const session = useSession();
  const [preferences] = usePreferences();
  const [said, setSaid] = useState<Signed["said"]>(null);
  const [busy, setBusy] = useState(false);
  const name = preferences.name.trim();

  const act = async (words: string, action: () => Promise<unknown>) => {
    setSaid(null);
    setBusy(true);
    try {
      await action();
      setSaid({ words, failed: false });
      changed();
      return true;
    } catch (error) {
      setSaid({ words: error instanceof ApiProblem ? error.message : String(error), failed: true });
      return false;
    } finally {
      setBusy(false);
    }
  };
  return { named: Boolean(session.name) || name !== "", who: session.name ? {} : { by: name }, busy, said, act };
}

/** Asks for a name where nobody signs in; it stays in this browser. */
export function NameField() {
  const session = useSession();
  const [preferences, change] = usePreferences();
  if (session.name) return null;
  return (
    <label class="field narrow"><span>Your name</span>
      <input type="text" value={preferences.name} autocomplete="name" onInput={(event) => change({ name: event.currentTarget.value })} />
    </label>
  );
}

/** What became of it. */
export function Said({ signed }: { signed: Signed }) {
  return <p class={signed.said?.failed ? "notice" : "said"} role="status">{signed.said?.words}</p>;
}
