import { AlertPage } from "./alerts/alert-page";
import { AlertsPage } from "./alerts/alerts-page";
import { EnergyPage } from "./energy/energy-page";
import { NormalPage } from "./normals/normal-page";
import { NormalsPage } from "./normals/normals-page";
import { OvenPage } from "./oven/oven-page";
import { OvensPage } from "./ovens/ovens-page";
import { PageFrame } from "./parts/page";
import { PlantPage } from "./plant/plant-page";
import { RateChangePage } from "./rate-changes/rate-change-page";
import { RateChangesPage } from "./rate-changes/rate-changes-page";
import { ReviewPage } from "./rate-changes/review-page";
import { ShiftPage } from "./shifts/shift-page";
import { ShiftsPage } from "./shifts/shifts-page";
import { link, type Route } from "./state/route";
import { TransitRunPage } from "./transit/transit-run-page";
import { TransitRunsPage } from "./transit/transit-runs-page";

/** Which page an address means. */
export function Pages({ route }: { route: Route }) {
  const [place = "ovens", id] = route.parts;
  switch (place) {
    case "ovens":
      return id === undefined ? <OvensPage /> : <OvenPage key={id} id={id} route={route} />;
    case "alerts":
      return id === undefined ? <AlertsPage route={route} /> : <AlertPage key={id} id={id} />;
    case "shifts":
      return id === undefined ? <ShiftsPage /> : <ShiftPage key={route.parts.join("/")} route={route} />;
    case "rate-changes":
      if (id === "review") return <ReviewPage route={route} />;
      return id === undefined ? <RateChangesPage route={route} /> : <RateChangePage key={id} id={id} />;
    case "energy":
      return <EnergyPage route={route} />;
    case "transit-runs":
      return id === undefined ? <TransitRunsPage route={route} /> : <TransitRunPage key={id} id={id} route={route} />;
    case "normals":
      return id === undefined ? <NormalsPage /> : <NormalPage key={id} id={id} route={route} />;
    case "plant":
      return <PlantPage />;
    default:
      return (
        <PageFrame title="Nothing here">
          <p class="empty">There is no page under this address. <a href={link([])}>To the ovens</a></p>
        </PageFrame>
      );
  }
}
