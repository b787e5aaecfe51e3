// What an engineer does: rate changes, energy, transit runs, against the recorded bakery.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { assertQuiet, assertUsable, go, launch, open, SCREENS } from "./support/browser.mjs";
import { recorded, recordedAnswer } from "./support/served.mjs";

const REVIEW = "#/rate-changes/review?line=tunnel-1&product=T800&speed=1.42";
/** The kept runs of the recorded bakery, the newest first. */
const [NEWER, OLDER] = recordedAnswer("transit-runs").items.map((run) => run.id);
const RUN = `#/transit-runs/${NEWER}`;

let browser;
let served;
before(async () => {
  [browser, served] = await Promise.all([launch(), recorded()]);
});
after(async () => {
  await browser?.close();
  await served?.end();
});

const desktop = () => open(browser, served.base, SCREENS[0]);
const panel = (page, heading) => page.locator("section.panel", { has: page.getByRole("heading", { name: heading }) });

test("a review says first whether the oven carries the speed, and says aloud that it extrapolates", async () => {
  const page = await desktop();
  await go(page, served.base, "#/rate-changes");
  await page.getByLabel("Oven").first().waitFor();
  const ask = page.locator("form.ask");
  await ask.getByLabel("Product").selectOption("T800");
  await ask.getByLabel("Band speed, m/min").fill("1.42");
  await page.keyboard.press("Enter");
  await page.waitForURL(/review\?line=tunnel-1&product=T800&speed=1.42/);
  const verdict = page.locator(".summary");
  await verdict.waitFor();
  assert.match(await verdict.innerText(), /likely to be carried past zone 2[\s\S]*Chance of carryover above 99 %[\s\S]*EXTRAPOLATED/);
  assert.equal(await verdict.locator(".mark.medium").count(), 1, "by shape as well as by word");

  const zones = panel(page, "What the zones will hold");
  // Zone by zone: usual, foretold with its band, as crews set it, the normal's own answer with its band, ceiling.
  assert.match(await zones.locator("tbody tr").nth(2).innerText(), /^3\s+\d+\.\d\s+13\.1\s+\d+\.\d to \d+\.\d\s+\d+\.\d\s+\d+\.\d\s+\d+\.\d to \d+\.\d\s+\d+\.\d\s+▲ above/);
  assert.match(await zones.locator("tbody tr").nth(0).innerText(), /–\s*$/, "zone 1 has no ceiling");
  assert.match(await panel(page, "Highest speed this oven carries").innerText(), /nothing touched but the band[\s\S]*1\.1\d\sm\/min|not even the usual speed/);
  await page.context().close();
});

test("remedies stand best first, each with what it takes, what it earns and what to mind", async () => {
  const page = await desktop();
  await go(page, served.base, REVIEW);
  const remedies = page.locator(".remedies > li");
  assert.equal(await remedies.count(), 5);
  const gains = await page.locator(".remedies .remedy-gain strong").allInnerTexts();
  const short = await remedies.evaluateAll((items) => items.map((item) => item.classList.contains("short")));
  assert.deepEqual(short, short.toSorted((a, b) => a - b), "those that do not suffice come last");
  assert.equal(gains.length, short.filter((one) => !one).length, "what does not suffice gains nothing that counts");
  const amounts = gains.map((text) => Number(text.replace(/[^\d−]/g, "").replace("−", "-")));
  assert.deepEqual(amounts, amounts.toSorted((a, b) => b - a));
  for (const text of await remedies.allInnerTexts()) assert.match(text, /Set[\s\S]*% vol[\s\S]*kWh\/h[\s\S]*Mind\./);
  assert.match(await remedies.filter({ hasText: "Add a zone" }).innerText(), /Capital\s+[\d\s]+GBP/);
  assert.match(await panel(page, "What this review does not know").innerText(), /Caution\. .*licensed/s);
  await page.context().close();
});

test("a proposal carries what was reviewed, its remedy and its reason, and leads to its record", async () => {
  const page = await desktop();
  const sent = [];
  await page.route("**/api/v1/rate-changes", (route) => {
    if (route.request().method() !== "POST") return route.fallback();
    sent.push(route.request().postDataJSON());
    return route.fulfill({ json: { id: "tunnel-1/rate/2" } });
  });
  await go(page, served.base, REVIEW);
  const propose = page.getByRole("button", { name: /^Propose/ });
  await page.getByLabel("Your name").fill("Ann");
  assert.equal(await propose.isDisabled(), true, "without a reason");
  await page.getByLabel("What for").fill(" One shift less ");
  await page.locator(".answering select").selectOption("open-exhaust");
  await propose.click();
  await page.locator("h1", { hasText: "Rate change 2: Tunnel oven 1" }).waitFor();
  assert.deepEqual(sent, [{ by: "Ann", line: "tunnel-1", product: "T800", speed_m_min: 1.42, remedy: "open-exhaust", reason: "One shift less" }]);
  await page.context().close();
});

test("a speed in ft/min is asked for in m/min, and a bake time as such", async () => {
  const page = await desktop();
  await go(page, served.base, "#/rate-changes");
  await page.getByRole("button", { name: "Display" }).click();
  await page.getByRole("radio", { name: "US" }).check();
  await page.keyboard.press("Escape");
  await page.getByLabel("Band speed, ft/min").fill("4.5");
  await page.getByRole("button", { name: "Review" }).click();
  await page.waitForURL(/speed=1\.3716/);
  await page.locator("form.ask").getByRole("radio", { name: "Bake time" }).check();
  await page.getByLabel("Bake time, min").fill("20");
  await page.getByRole("button", { name: "Review" }).click();
  await page.waitForURL(/bake_time=20/);
  assert.match(await page.locator(".summary").innerText(), /4\.66\sft\/min/);
  await page.context().close();
});

test("each party agrees by itself; made comes once all have, and a refusal is told in the service's words", async () => {
  const page = await desktop();
  const sent = [];
  await page.route("**/api/v1/rate-changes/tunnel-1/2/agree", (route) => {
    sent.push(route.request().postDataJSON());
    return route.fulfill({ status: 409, contentType: "application/problem+json", json: { status: 409, detail: "It has been agreed by process already: Eli." } });
  });
  await go(page, served.base, "#/rate-changes/tunnel-1%2Frate%2F2");
  assert.match(await page.locator(".summary").innerText(), /Proposed, waits for process and maintenance/);
  assert.equal(await page.getByRole("button", { name: "Agree for production" }).count(), 0, "production has agreed");
  assert.equal(await page.getByRole("button", { name: "It is made" }).count(), 0);
  await page.getByLabel("Your name").fill("Gus");
  await page.getByRole("button", { name: "Agree for process" }).click();
  await page.getByRole("status").getByText("agreed by process already: Eli").waitFor();
  assert.deepEqual(sent, [{ by: "Gus", role: "process" }]);
  await page.context().close();
});

test("a change that was made is looked at a day later, not before", async () => {
  const page = await desktop();
  await go(page, served.base, "#/rate-changes/tunnel-2%2Frate%2F1");
  await page.getByLabel("Your name").fill("Ann");
  assert.equal(await page.getByRole("button", { name: "Look at what came" }).isDisabled(), true);
  assert.match(await page.locator("main").innerText(), /from Fri 27 Nov, 02:00 on/);
  await go(page, served.base, "#/rate-changes/tunnel-1%2Frate%2F1");
  const rows = panel(page, "Foretold, and what came").locator("tbody tr");
  assert.match(await rows.nth(0).innerText(), /as foretold/);
  assert.match(await rows.nth(2).innerText(), /▲ \+\d\.\d beyond the band/);
  await page.context().close();
});

test("a rise that nobody reviewed says so on its alert, and leads to the review of its speed", async () => {
  const page = await desktop();
  await go(page, served.base, "");
  await page.locator(".call", { hasText: "overloaded" }).getByRole("link", { name: "Evidence and answer" }).first().click();
  const review = page.locator(".rise-review");
  await review.waitFor();
  assert.match(await review.innerText(), /No review found\./);
  await review.getByRole("link").click();
  await page.waitForURL(/rate-changes\/review\?line=tunnel-\d&product=\w+&speed=\d/);
  await page.locator(".summary").waitFor();
  await page.context().close();
});

test("the energy indicator never stands without its moisture, and the saving is dated", async () => {
  const page = await desktop();
  await go(page, served.base, "#/energy");
  assert.match(await page.locator(".indicator").innerText(), /696\skWh\/t[\s\S]*8\.9\s% vol/);
  const heads = await page.locator(".energy-records thead th").allInnerTexts();
  assert.equal(heads[heads.indexOf("EnPI") + 1], "Zone 3");
  const baseline = panel(page, "Against the energy baseline (EnB)");
  assert.match(await baseline.innerText(), /R²\s+0\.99[\s\S]*CV\(RMSE\)\s+1\.6 %[\s\S]*NMBE[\s\S]*−0\.2 %[\s\S]*4\s534 kWh ± 1\s035[\s\S]*turned with the early shift of Mon 16 Nov/);
  assert.match(await page.locator(".turn-words").innerText(), /turned Mon 16 Nov/);
  assert.match(await panel(page, "What the figures rest on").innerText(), /9\.8 kWh\/m³ net; sums and prices are gross[\s\S]*0\.183 kg a kWh, source: invented supplier's statement/);
  await page.getByText("What the columns of the file mean").click();
  await page.locator("code", { hasText: "kwh_per_t" }).waitFor();
  await page.context().close();
});

test("a baseline that the records do not give is refused with its reason, and nothing is said to be saved", async () => {
  const page = await desktop();
  await go(page, served.base, "#/energy?line=tunnel-2");
  const baseline = panel(page, "Against the energy baseline (EnB)");
  assert.match(await baseline.locator(".notice").innerText(), /No baseline from 2026-11-05 to 2026-11-08: it has \d+ complete records and needs \d+/);
  assert.equal(await page.getByText("Saved:").count() + await page.locator(".turn-words").count(), 0);
  await page.context().close();
});

test("energy is asked for by whole days on the bakery's wall, and saved as asked for", async () => {
  const page = await desktop();
  const asked = [];
  page.on("request", (request) => {
    const { pathname, searchParams } = new URL(request.url());
    if (pathname === "/api/v1/energy/tunnel-1") asked.push(Object.fromEntries(searchParams));
  });
  await go(page, served.base, "#/energy?by=day&from=2026-10-20&to=2026-11-20&baseline_from=2026-09-01&baseline_to=2026-10-01");
  await page.locator(".indicator").waitFor();
  // The clocks went back on 25 October: midnight in London was 23:00 UTC before.
  const wanted = { by: "day", from: "2026-10-19T23:00:00.000Z", to: "2026-11-21T00:00:00.000Z", baseline_from: "2026-09-01", baseline_to: "2026-10-01" };
  assert.deepEqual(asked.at(-1), wanted);
  const file = new URL(await page.getByRole("link", { name: "Save CSV" }).getAttribute("href"), served.base);
  assert.equal(file.pathname, "/api/v1/energy/tunnel-1/csv");
  assert.deepEqual(Object.fromEntries(file.searchParams), wanted);
  await page.getByLabel("Baseline from").fill("");
  await page.getByText("A baseline needs both of its ends.").waitFor();
  await page.context().close();
});

test("a logger's file is sent as it is, with the columns that a person has looked at", async () => {
  const page = await desktop();
  const sent = [];
  await page.route("**/api/v1/transit-runs?*", (route) => {
    if (route.request().method() !== "POST") return route.fallback();
    sent.push({ query: Object.fromEntries(new URL(route.request().url()).searchParams), body: route.request().postData(), type: route.request().headers()["content-type"] });
    return route.fulfill({ json: { run: { id: NEWER }, left_out: { rows: 2, first: "line 7: \"x\" is no number" } } });
  });
  await go(page, served.base, "#/transit-runs");
  const text = "stamp;air;dew;vol\n2026-11-24 10:15:00;31.0;20.1;2.3\n";
  const choose = (name, content) => page.getByLabel("The logger's file (CSV)").setInputFiles({ name, mimeType: "text/csv", buffer: Buffer.from(content) });
  await choose("photo.csv", "no header here");
  await page.getByRole("alert").getByText("photo.csv has no header with columns").waitFor();
  await choose("run.csv", text);
  assert.equal(await page.getByLabel("Column of times").inputValue(), "stamp");
  assert.equal(await page.getByLabel("Column of humidity").inputValue(), "dew");
  await page.getByLabel("Column of humidity").selectOption("vol");
  await page.getByRole("radio", { name: "% vol" }).check();
  await page.getByLabel("Steam injectors, m from the mouth").fill("0.3, x");
  const bring = page.getByRole("button", { name: "Bring it" });
  assert.equal(await bring.isDisabled(), true, "an injector at x");
  await page.getByLabel("Steam injectors, m from the mouth").fill("0.3, 0.6");
  await page.getByLabel("Entered the oven").fill("2026-11-24T10:15:10");
  await bring.click();
  await page.getByText("2 rows left out as not readable; the first: line 7").waitFor();
  assert.deepEqual(sent, [{
    query: {
      line: "tunnel-1", entered: "2026-11-24T10:15:10.000Z", injectors_m: "0.3,0.6", time_column: "stamp", temperature_column: "air",
      temperature_unit: "degC", separator: ";", moisture_column: "vol",
    },
    body: text, type: "text/csv",
  }]);
  await page.getByRole("link", { name: "Look at the run" }).click();
  await page.locator("h1", { hasText: "Tunnel oven 1: run of" }).waitFor();
  await page.context().close();
});

test("a run is laid on the zones by place and by time, with offsets, dead injectors and what has changed since another", async () => {
  const page = await desktop();
  await go(page, served.base, RUN);
  assert.match(await page.locator(".injectors").innerText(), /Injector at 0\.6\sm gave nothing: look at its valve and bore/);
  assert.equal(await page.locator(".injectors .mark.medium").count(), 1);
  const zones = panel(page, "Zone by zone").locator("tbody tr");
  assert.equal(await zones.count(), 4);
  assert.match(await zones.first().innerText(), /^1\s+0\.0 to 7\.0\s+\d+\.\d\s+\d+\.\d\s+[+−]?\d\.\d/);
  const walls = () => page.locator(".run").first().locator(".wall").evaluateAll((paths) => paths.map((path) => path.getAttribute("d")));
  const byPlace = await walls();
  assert.deepEqual(byPlace.map((path) => parseFloat(path.slice(1))), [25, 50, 75], "four zones of 7 m");
  await page.getByRole("radio", { name: "Time" }).check();
  assert.match(await page.locator(".run figcaption").first().innerText(), /by time in the oven, min/);
  await page.getByLabel("with").selectOption(OLDER);
  await page.waitForURL(/against=/);
  const compared = panel(page, "Compared");
  await compared.locator("tbody tr").first().waitFor();
  assert.match(await compared.innerText(), /Zone 1, % vol\s+\d+\.\d\s+\d+\.\d\s+[+−]\d/);
  assert.equal(await page.locator(".run .other").count(), 2);
  await assertUsable(page);
  assertQuiet(page);
  await page.context().close();
});

test("who may only look is offered no proposal, no agreement and no upload", async () => {
  const page = await desktop();
  await page.route("**/api/v1/session", (route) => route.fulfill({ json: { name: "Vic", role: "viewer", open: false } }));
  for (const [place, words] of [[REVIEW, "To propose a rate change, sign in"], ["#/rate-changes/tunnel-1%2Frate%2F2", "To take the next step, sign in"], ["#/transit-runs", "To bring a run, sign in"]]) {
    await go(page, served.base, place);
    await page.getByText(words).waitFor();
    assert.equal(await page.getByRole("button", { name: /^(Propose|Agree for|Bring)/ }).count(), 0);
  }
  await page.context().close();
});
