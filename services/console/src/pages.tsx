import { AlertPage } from "./alerts/alert-page";
import { AlertsPage } from "./alerts/alerts-page";
import { NormalPage } from "./normals/normal-page";
import { NormalsPage } from "./normals/normals-page";
import { OvenPage } from "./oven/oven-page";
import { OvensPage } from "./ovens/ovens-page";
import { PageFrame } from "./parts/page";
import { PlantPage } from "./plant/plant-page";
import { ShiftPage } from "./shifts/shift-page";
import { ShiftsPage } from "./shifts/shifts-page";
import { link, type Route } from "./state/route";

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
