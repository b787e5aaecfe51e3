// Takes the pictures of services/console/pictures, of the recorded bakery: `npm run pictures`.

import { join, resolve } from "node:path";
import { go, launch, open, SCREENS } from "./support/browser.mjs";
import { recorded } from "./support/served.mjs";

const FOLDER = resolve(import.meta.dirname, "../../services/console/pictures");
const [DESKTOP, , , TABLET_DARK] = SCREENS;

const PICTURES = [
  { name: "ovens", place: "", scene: "overloaded", screen: DESKTOP },
  { name: "ovens-tablet-dark", place: "", scene: "overloaded", screen: TABLET_DARK },
  { name: "alert", place: null, scene: "overloaded", screen: { ...DESKTOP, height: 1160 } },
  { name: "oven", place: "#/ovens/tunnel-2", scene: "overloaded", screen: { ...DESKTOP, height: 1720 } },
  { name: "rate-change", place: "#/rate-changes/review?line=tunnel-1&product=T800&speed=1.42", scene: "overloaded", screen: { ...DESKTOP, height: 1500 } },
  { name: "energy", place: "#/energy", scene: "overloaded", screen: { ...DESKTOP, height: 1180 } },
];

const [browser, served] = await Promise.all([launch(), recorded()]);
try {
  for (const { name, place, scene, screen } of PICTURES) {
    const page = await open(browser, served.base, screen, [{ name: "scene", value: scene }]);
    await go(page, served.base, place ?? "");
    if (place === null) {
      await page.getByRole("link", { name: "Evidence and answer" }).first().click();
      await page.locator(".evidence").waitFor();
    }
    if (name === "oven") await page.locator(".time-chart canvas").nth(1).waitFor();
    await page.screenshot({ path: join(FOLDER, `${name}.png`) });
    await page.context().close();
  }
} finally {
  await browser.close();
  await served.end();
}
