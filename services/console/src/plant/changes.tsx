import type { AuditEntry } from "../api/records";
import { Older } from "../parts/older";
import { Awaited } from "../parts/page";
import { Scroll } from "../parts/scroll";
import { useList } from "../state/list";
import { useView } from "../state/view";

/** Who changed what, the newest first. */
export function Changes() {
  const answer = useList<AuditEntry>("/audit", { limit: 50 });
  const { clock, now } = useView();
  return (
    <section class="panel">
      <h2>Who changed what</h2>
      <Awaited answer={answer} missing="This service does not tell who changed what.">
        {(page) => page.items.length === 0 ? <p class="quiet">Nothing was changed yet.</p> : (
          <Scroll>
            <table>
              <thead><tr><th scope="col">When</th><th scope="col">Who</th><th scope="col">What</th></tr></thead>
              <tbody>
                {page.items.map((entry) => (
                  <tr key={entry.id}><td class="nowrap">{clock.moment(entry.time, now)}</td><th scope="row">{entry.who}</th><td>{entry.what}</td></tr>
                ))}
              </tbody>
            </table>
          </Scroll>
        )}
      </Awaited>
      <Older more={answer.more} />
    </section>
  );
}
