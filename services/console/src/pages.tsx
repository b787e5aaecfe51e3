import { OvensPage } from "./ovens/ovens-page";
import { PageFrame } from "./parts/page";
import { link, type Route } from "./state/route";

/** Which page an address means. */
export function Pages({ route }: { route: Route }) {
  const [place = "ovens"] = route.parts;
  switch (place) {
    case "ovens":
      return <OvensPage />;
    default:
      return (
        <PageFrame title="Nothing here">
          <p class="empty">There is no page under this address. <a href={link([])}>To the ovens</a></p>
        </PageFrame>
      );
  }
}
