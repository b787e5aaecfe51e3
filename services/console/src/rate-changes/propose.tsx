import { useState } from "preact/hooks";
import { send } from "../api/client";
import type { RateChange, Review } from "../api/rate-change";
import { withUnit } from "../figures/units";
import { NameField, Said, useSigned } from "../parts/signed";
import { link } from "../state/route";
import { may, useSession } from "../state/session";
import { useView } from "../state/view";
import { remedyName } from "../words/rate-change";

/** Keeps a review as a proposal, for production, process and maintenance to agree to. */
export function Propose({ review, change }: { review: Review; change: Record<string, string> }) {
  const { units } = useView();
  const session = useSession();
  const [reason, setReason] = useState("");
  const [remedy, setRemedy] = useState("");
  const signed = useSigned(() => undefined);
  if (!may(session, "lead")) {
    return <section class="panel"><h2>Propose it</h2><p class="quiet">To propose a rate change, sign in as a shift lead or an engineer.</p></section>;
  }
  const chosen = review.remedies.find((one) => one.kind === remedy);
  const speed = chosen?.profile.speed_m_min ?? review.speed_m_min;
  const { line, product, ...asked } = change;
  const numbers = Object.fromEntries(Object.entries(asked).map(([name, value]) => [name, Number(value)]));

  const propose = () => signed.act("It is proposed.", async () => {
    const body = { ...signed.who, line, product, ...numbers, ...(remedy !== "" && { remedy }), reason: reason.trim() };
    const { id } = await send<RateChange>("POST", "/rate-changes", body);
    location.hash = link(["rate-changes", id]);
  });

  return (
    <section class="panel answering">
      <h2>Propose it</h2>
      <p class="quiet">The record keeps what was foretold. Nothing is sent to the oven: people make the change once production, process and maintenance have agreed.</p>
      <div class="fields">
        <label class="field"><span>With</span>
          <select value={remedy} onChange={(event) => setRemedy(event.currentTarget.value)}>
            <option value="">{remedyName(null)}</option>
            {review.remedies.map((one) => <option key={one.kind} value={one.kind}>{remedyName(one.kind)}{one.suffices ? "" : " (does not suffice alone)"}</option>)}
          </select>
        </label>
        <label class="field wide"><span>What for</span>
          <input type="text" value={reason} onInput={(event) => setReason(event.currentTarget.value)} />
        </label>
        <NameField />
      </div>
      <button type="button" class="main" disabled={!signed.named || signed.busy || reason.trim() === ""} onClick={propose}>
        Propose {withUnit(speed, "band_speed_m_min", units)}
      </button>
      <Said signed={signed} />
    </section>
  );
}
