import { send } from "../api/client";
import { calling, isUnanswered } from "../words/alert";
import { link } from "../state/route";
import { useSession } from "../state/session";
import { useView } from "../state/view";
import { Settings } from "./settings";

export const PLACES: readonly (readonly [string, string])[] = [
  ["ovens", "Ovens"],
  ["alerts", "Alerts"],
  ["shifts", "Shifts"],
  ["rate-changes", "Rate changes"],
  ["energy", "Energy"],
  ["transit-runs", "Transit runs"],
  ["normals", "Normals"],
  ["plant", "Plant"],
];

/** Who, where to, and when. */
export function Header({ place }: { place: string }) {
  const { status, clock, now, old } = useView();
  const waiting = calling(status.alerts).filter(isUnanswered).length;
  return (
    <header class="head">
      <p class="site"><a href={link([])}>{status.name}</a></p>
      <nav aria-label="Pages">
        <ul>
          {PLACES.map(([id, name]) => (
            <li key={id}>
              <a href={link([id])} aria-current={place === id ? "page" : undefined}>
                {name}
                {id === "alerts" && waiting > 0 && <Waiting count={waiting} />}
              </a>
            </li>
          ))}
        </ul>
      </nav>
      <div class="head-end">
        <p class={`clock ${old ? "stale" : ""}`}>
          <span class="live">{old ? "out of date" : "live"}</span>
          <time dateTime={now}>{clock.time(now)}</time>
        </p>
        <Settings />
        <SignOut />
      </div>
    </header>
  );
}

function SignOut() {
  const session = useSession();
  if (!session.name) return null;
  const leave = () => send("DELETE", "/session").finally(() => location.reload());
  return <button type="button" onClick={leave} title={`${session.name}, ${session.role ?? "no role"}`}>Sign out {session.name}</button>;
}

function Waiting({ count }: { count: number }) {
  return <span class="waiting-count">{count}<span class="spoken"> unacknowledged</span></span>;
}
