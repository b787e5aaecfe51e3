// Measures what the console costs a browser: `npm run measure`. Times depend on the machine and are only told; what is
// transferred is held by a test of the web crate.

import { go, launch, open, SCREENS } from "./support/browser.mjs";
import { recorded } from "./support/served.mjs";

const DAY_STEPS = 1440;
const ZONES = 8;

/** A day of 42 tags in steps of a minute: five figures of eight zones, speed and steam. Invented. */
function day() {
  const begin = Date.parse("2026-10-05T13:00:00Z");
  const column = (level, sway) => Array.from({ length: DAY_STEPS }, (_, step) => level + sway * Math.sin(step / 40 + level));
  return {
    line: "tunnel-2", from: "2026-10-05T13:00:00Z", to: "2026-10-06T13:00:00Z", step_s: 60,
    time: Array.from({ length: DAY_STEPS }, (_, step) => new Date(begin + step * 60000).toISOString()),
    state: Array(DAY_STEPS).fill("baking"), product: Array(DAY_STEPS).fill("T800"),
    band_speed_m_min: column(1.4, 0.1), steam_kg_h: column(140, 12), steam_valve_pct: Array(DAY_STEPS).fill(null),
    zones: Array.from({ length: ZONES }, (_, zone) => ({
      zone: zone + 1, air_temperature_c: column(220 + 4 * zone, 2), dew_point_c: column(80 - 6 * zone, 1),
      moisture_pct: column(44 - 5 * zone, 1), humidity_ratio: column(0.4 - 0.04 * zone, 0.01), exhaust_damper_pct: column(30 + 4 * zone, 3),
    })),
    rises: [],
  };
}

async function firstView(browser, base) {
  const page = await open(browser, base, SCREENS[0]);
  const began = performance.now();
  await go(page, base, "");
  await page.locator(".oven").first().waitFor();
  const shown = performance.now() - began;
  const transferred = await page.evaluate(() =>
    [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")].reduce((sum, one) => sum + one.transferSize, 0));
  await page.context().close();
  return { shown, transferred };
}

/** How many charts a day of these tags has: speed, humidity, steam, dampers, air temperature. */
const CHARTS = 5;

/** From the last byte of a day's history to the frame after its last chart, both by the clock of the page. */
async function dayDrawn(browser, base) {
  const page = await open(browser, base, SCREENS[0]);
  await page.route("**/history*", (route) => route.fulfill({ json: day() }));
  await page.addInitScript((charts) => {
    window.drawn = new Promise((done) => {
      new MutationObserver((_, observer) => {
        if (document.querySelectorAll(".time-chart canvas").length < charts) return;
        observer.disconnect();
        requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now())));
      }).observe(document, { childList: true, subtree: true });
    });
  }, CHARTS);
  await go(page, base, "#/ovens/tunnel-2?hours=24");
  const drawn = await page.evaluate(async () => {
    const at = await window.drawn;
    const answered = performance.getEntriesByType("resource").findLast((one) => one.name.includes("tunnel-2/history") && one.responseEnd < at).responseEnd;
    return at - answered;
  });
  await page.context().close();
  return drawn;
}

const median = (figures) => figures.toSorted((a, b) => a - b)[Math.floor(figures.length / 2)];

const [browser, served] = await Promise.all([launch(), recorded()]);
try {
  const views = [];
  const days = [];
  for (let round = 0; round < 5; round += 1) {
    views.push(await firstView(browser, served.base));
    days.push(await dayDrawn(browser, served.base));
  }
  console.log(`first view: ${median(views.map((view) => view.shown)).toFixed(0)} ms, ${(views[0].transferred / 1000).toFixed(0)} kB transferred`);
  console.log(`a day of ${ZONES * 5 + 2} tags, drawn behind its last byte: ${median(days).toFixed(0)} ms`);
} finally {
  await browser.close();
  await served.end();
}
