import { send } from "../api/client";
import { PARTIES, recordPath, type Party, type RateChange, type Signature } from "../api/rate-change";
import { Mark } from "../parts/mark";
import { NameField, Said, useSigned, type Signed } from "../parts/signed";
import { may, useSession } from "../state/session";
import { useView } from "../state/view";
import { listed } from "../words/alert";

/** Who proposed, agreed, made and looked, and the next step for whoever may take it. */
export function Steps({ change, changed }: { change: RateChange; changed(): void }) {
  const signed = useSigned(changed);
  const { made, outcome } = change;
  return (
    <section class="panel answering">
      <h2>Steps</h2>
      <ol class="steps">
        <Step name="Proposed" done={change.proposed} />
        {PARTIES.map((party) => <Step key={party} name={`Agreed for ${party}`} done={change.agreed.find(({ role }) => role === party)?.signed} />)}
        <Step name="Made" done={made} />
        <Step name="Looked at" done={outcome?.looked} />
      </ol>
      {!outcome && <NextStep change={change} signed={signed} />}
      <Said signed={signed} />
    </section>
  );
}

function Step({ name, done }: { name: string; done: Signature | null | undefined }) {
  const { clock, now } = useView();
  return (
    <li class={done ? "done" : ""}>
      <Mark sign={done ? "done" : "unknown"} />
      <span>{name}</span>
      <span>{done ? `${done.by}, ${clock.moment(done.at, now)}` : "not yet"}</span>
    </li>
  );
}

function NextStep({ change, signed }: { change: RateChange; signed: Signed }) {
  const session = useSession();
  const { clock, now } = useView();
  const path = recordPath(change.id);
  const open = PARTIES.filter((party) => change.not_agreed.includes(party));
  const agree = (role: Party) => signed.act(`Agreed for ${role}.`, () => send("POST", `${path}/agree`, { ...signed.who, role }));
  const made = () => signed.act("It is noted as made.", () => send("POST", `${path}/made`, signed.who));
  const look = () => signed.act("What came is kept.", () => send("POST", `${path}/follow-up`, signed.who));
  const soon = change.look_from !== null && change.look_from !== undefined && Date.parse(now) < Date.parse(change.look_from);

  if (!may(session, "lead")) return <p class="quiet">To take the next step, sign in as a shift lead or an engineer.</p>;
  return (
    <>
      <NameField />
      {open.length > 0 && (
        <>
          <p class="quiet">Before it is made, {listed(open)} must agree, each by the name of who answers for it.</p>
          {may(session, "engineer")
            ? <div class="buttons">{open.map((party) => <button key={party} type="button" disabled={!signed.named || signed.busy} onClick={() => agree(party)}>Agree for {party}</button>)}</div>
            : <p class="quiet">Engineers sign agreements.</p>}
        </>
      )}
      {change.state === "agreed" && (
        <>
          <p class="quiet">Made by people at the oven, never from here. Say so once the band runs at the new speed.</p>
          <button type="button" class="main" disabled={!signed.named || signed.busy} onClick={made}>It is made</button>
        </>
      )}
      {change.state === "made" && (
        <>
          <p class="quiet">{soon ? `What came can be looked at from ${clock.moment(change.look_from, now)} on, a day after it was made.` : "A day has passed: hold what came against what was foretold."}</p>
          <button type="button" class="main" disabled={!signed.named || signed.busy || soon} onClick={look}>Look at what came</button>
        </>
      )}
    </>
  );
}
