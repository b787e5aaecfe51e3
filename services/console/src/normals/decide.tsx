import { send } from "../api/client";
import type { Normal } from "../api/records";
import { NameField, Said, useSigned } from "../parts/signed";
import { may, useSession } from "../state/session";

/** Lets a normal hold, or takes it back. An engineer's decision: what is normal decides what is called an alert. */
export function Decide({ normal, changed }: { normal: Normal; changed(): void }) {
  const session = useSession();
  const signed = useSigned(changed);
  if (!may(session, "engineer")) {
    const words = session.open ? <>Normals are approved on the service's machine: <code>ovenward normals approve {normal.id}</code></> : "To approve or retire a normal, sign in as an engineer.";
    return <p class="quiet">{words}</p>;
  }

  const path = `/normals/${normal.id.split("/").map(encodeURIComponent).join("/")}`;
  const decide = (verb: "approve" | "retire", words: string) => signed.act(words, () => send("POST", `${path}/${verb}`, signed.who));

  return (
    <section class="panel answering">
      <h2>Decide</h2>
      <p class="quiet">
        {normal.standing === "retired"
          ? "A retired normal stays retired: learn a new version instead."
          : "An approved normal is what this product is held against from now on, in place of the one before it."}
      </p>
      <NameField />
      <div class="buttons">
        {normal.standing === "proposed" && <button type="button" class="main" disabled={!signed.named} onClick={() => decide("approve", "It holds from now on.")}>Approve</button>}
        {normal.standing !== "retired" && <button type="button" disabled={!signed.named} onClick={() => decide("retire", "It is retired.")}>Retire</button>}
      </div>
      <Said signed={signed} />
    </section>
  );
}
