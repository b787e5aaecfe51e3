import type { Quarantine } from "../api/records";
import { count } from "../figures/number";
import { Awaited } from "../parts/page";
import { Scroll } from "../parts/scroll";
import { useAnswer } from "../state/answer";
import { useView } from "../state/view";
import { plain } from "../words/alert";

/** What the plant sent that gave no reading, and why. */
export function QuarantineList() {
  const answer = useAnswer<Quarantine>("/quarantine", { limit: 50 });
  const { clock, now } = useView();
  return (
    <section class="panel">
      <h2>Quarantine: messages that gave no reading</h2>
      <Awaited answer={answer} missing="This service does not tell its quarantine.">
        {(quarantine) => quarantine.items.length === 0 ? <p class="quiet">Every message could be read.</p> : (
          <>
            <p>{quarantine.counts.map(({ reason, count: number }) => `${count(number)} ${plain(reason)}`).join(", ")}</p>
            <Scroll>
              <table>
                <thead><tr><th scope="col">Received</th><th scope="col">Topic</th><th scope="col">Payload</th><th scope="col">Why</th></tr></thead>
                <tbody>
                  {quarantine.items.map((item) => (
                    <tr key={item.id}>
                      <td class="nowrap">{clock.moment(item.received, now)}</td>
                      <th scope="row"><code>{item.topic}</code></th>
                      <td><code>{item.payload}</code></td>
                      <td>{item.detail}</td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </Scroll>
            <p class="quiet">Once the config is put right, <code>ovenward quarantine replay</code> reads them again.</p>
          </>
        )}
      </Awaited>
    </section>
  );
}
