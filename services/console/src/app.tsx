import { useEffect, useMemo, useRef } from "preact/hooks";
import type { Lines } from "./api/line";
import type { Session } from "./api/records";
import { Clock } from "./figures/clock";
import { Pages } from "./pages";
import { Header } from "./shell/header";
import { Lost } from "./shell/lost";
import { SignIn } from "./shell/sign-in";
import { useAnswer } from "./state/answer";
import { isOld, useNow, usePlant, withModel } from "./state/plant";
import { usePreferences } from "./state/preferences";
import { READ_ONLY, SessionContext } from "./state/session";
import { useRoute } from "./state/route";
import { ViewContext, type View } from "./state/view";

/** Whoever must sign in does that first; then the console is as live as it gets. */
export function App() {
  const asked = useAnswer<Session>("/session");
  const session = asked.value ?? (asked.problem?.isMissing ? READ_ONLY : null);
  if (session === null) return <Waiting lost={asked.problem !== null} />;
  if (!session.open && !session.name) return <SignIn />;
  return (
    <SessionContext.Provider value={session}>
      <Console />
    </SessionContext.Provider>
  );
}

/** The console: a header that always says how the plant stands and whether that is news, and a page. */
function Console() {
  const plant = usePlant();
  const [preferences] = usePreferences();
  const route = useRoute();
  const tick = useNow(1000);
  const old = isOld(plant, tick);
  const model = useAnswer<Lines>("/lines", {}, 300000).value;

  const view = useMemo<View | null>(() => {
    if (plant.status === null) return null;
    const status = withModel(plant.status, model);
    return { status, model, old, units: preferences.units, now: status.now, clock: Clock.of(status, preferences.hours) };
  }, [plant.status, model, old, preferences.units, preferences.hours]);

  const main = useRef<HTMLElement>(null);
  const place = route.parts.join("/");
  const before = useRef(place);
  useEffect(() => {
    if (before.current === place) return;
    before.current = place;
    window.scrollTo(0, 0);
    main.current?.focus({ preventScroll: true });
  }, [place]);

  if (view === null) return <Waiting lost={!plant.connected} />;
  return (
    <ViewContext.Provider value={view}>
      <a class="skip" href="#main" onClick={(event) => { event.preventDefault(); main.current?.focus(); }}>Skip to the page</a>
      <Header place={route.parts[0] ?? "ovens"} />
      {old && <Lost heard={plant.heard} now={tick} connected={plant.connected} />}
      <main id="main" ref={main} tabIndex={-1} class={old ? "old" : ""}>
        <Pages route={route} />
      </main>
    </ViewContext.Provider>
  );
}

function Waiting({ lost }: { lost: boolean }) {
  return (
    <main class="waiting">
      <h1>Ovens</h1>
      <p role="status">{lost ? "The service cannot be reached. It is tried again." : "One moment …"}</p>
      <p><a href="/plain">Plain status page</a></p>
    </main>
  );
}
