import { useState } from "preact/hooks";
import { ApiProblem, send } from "../api/client";
import type { Normal } from "../api/records";
import { usePreferences } from "../state/preferences";
import { may, useSession } from "../state/session";

/** Lets a normal hold, or takes it back. An engineer's decision: what is normal decides what is called an alert. */
export function Decide({ normal, changed }: { normal: Normal; changed(): void }) {
  const session = useSession();
  const [preferences, change] = usePreferences();
  const [said, setSaid] = useState<{ words: string; failed: boolean } | null>(null);
  const by = session.name ?? preferences.name.trim();
  const asksName = session.name === null || session.name === undefined;
  if (!may(session, "engineer")) {
    const words = session.open ? <>Normals are approved on the service's machine: <code>ovenward normals approve {normal.id}</code></> : "To approve or retire a normal, sign in as an engineer.";
    return <p class="quiet">{words}</p>;
  }

  const decide = async (verb: "approve" | "retire", words: string) => {
    setSaid(null);
    try {
      await send("POST", `/normals/${normal.id.split("/").map(encodeURIComponent).join("/")}/${verb}`, asksName ? { by } : {});
      setSaid({ words, failed: false });
      changed();
    } catch (error) {
      setSaid({ words: error instanceof ApiProblem ? error.message : String(error), failed: true });
    }
  };

  return (
    <section class="panel answering">
      <h2>Decide</h2>
      <p class="quiet">
        {normal.standing === "retired"
          ? "A retired normal stays retired: learn a new version instead."
          : "An approved normal is what this product is held against from now on, in place of the one before it."}
      </p>
      {asksName && (
        <label class="field narrow"><span>Your name</span>
          <input type="text" value={preferences.name} autocomplete="name" onInput={(event) => change({ name: event.currentTarget.value })} />
        </label>
      )}
      <div class="buttons">
        {normal.standing === "proposed" && <button type="button" class="main" disabled={by === ""} onClick={() => decide("approve", "It holds from now on.")}>Approve</button>}
        {normal.standing !== "retired" && <button type="button" disabled={by === ""} onClick={() => decide("retire", "It is retired.")}>Retire</button>}
      </div>
      <p class={said?.failed ? "notice" : "said"} role="status">{said?.words}</p>
    </section>
  );
}
