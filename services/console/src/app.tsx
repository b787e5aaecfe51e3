import { useEffect, useMemo, useRef } from "preact/hooks";
import { Clock } from "./figures/clock";
import { Pages } from "./pages";
import { Header } from "./shell/header";
import { Lost } from "./shell/lost";
import { isOld, useNow, usePlant } from "./state/plant";
import { usePreferences } from "./state/preferences";
import { useRoute } from "./state/route";
import { ViewContext, type View } from "./state/view";

/** The console: a header that always says how the plant stands and whether that is news, and a page. */
export function App() {
  const plant = usePlant();
  const [preferences] = usePreferences();
  const route = useRoute();
  const tick = useNow(1000);
  const old = isOld(plant, tick);
  const { status } = plant;

  const view = useMemo<View | null>(() => status === null ? null : {
    status, old, units: preferences.units, now: status.now, clock: Clock.of(status, preferences.hours),
  }, [status, old, preferences.units, preferences.hours]);

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
