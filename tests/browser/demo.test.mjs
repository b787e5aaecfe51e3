// What people do with the console, against a whole demo: broker, ovens, learning, detection, store and all.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, before, describe, test } from "node:test";
import { assertQuiet, assertUsable, go, launch, open, SCREENS } from "./support/browser.mjs";
import { demo } from "./support/served.mjs";

/** An alert comes when the demo's script speeds up a band, in about a minute; the machine may have other work. */
const UNTIL_AN_ALERT_MS = 300000;
const UNTIL_A_BALANCE_MS = 300000;

let browser;
let served;
before(async () => {
  [browser, served] = await Promise.all([launch(), demo()]);
});
after(async () => {
  await browser?.close();
  await served?.end();
});

const desktop = () => open(browser, served.base, SCREENS[0]);

test("all ovens are drawn as their zones along the band, live", async () => {
  const page = await desktop();
  await go(page, served.base, "");
  assert.deepEqual(await page.locator(".oven h2").allInnerTexts(), ["Tunnel oven 1", "Tunnel oven 2", "Tunnel oven 3"]);
  assert.deepEqual(await page.locator(".oven .zone-figures").evaluateAll((lists) => lists.map((list) => list.children.length)), [4, 6, 5]);
  assert.match(await page.locator(".oven").first().innerText(), /\d\sm\/min/);
  // The picture is drawn anew by itself: plant time moves on without a reload.
  const shown = await page.locator(".clock time").getAttribute("datetime");
  await page.waitForFunction((before) => document.querySelector(".clock time").dateTime !== before, shown);
  assertQuiet(page);
  await page.context().close();
});

test("a page that hears nothing any more says so, and goes on by itself", async () => {
  const page = await desktop();
  await page.addInitScript(() => {
    window.streams = [];
    const Stream = window.EventSource;
    window.EventSource = class extends Stream {
      constructor(url) {
        super(url);
        window.streams.push(this);
      }
    };
  });
  await go(page, served.base, "");
  await page.route("**/api/v1/live", (route) => route.abort());
  await page.evaluate(() => window.streams.forEach((stream) => stream.dispatchEvent(new Event("error"))));
  const lost = page.getByRole("alert");
  await lost.getByText("Out of date.").waitFor();
  assert.match(await page.locator(".clock").innerText(), /out of date/);
  await assertUsable(page);
  await page.unroute("**/api/v1/live");
  await lost.waitFor({ state: "detached" });
  assert.match(await page.locator(".clock").innerText(), /live/);
  await page.context().close();
});

test("an alert is found, understood, answered and shelved", { timeout: UNTIL_AN_ALERT_MS + 60000 }, async () => {
  const page = await desktop();
  await go(page, served.base, "");
  // The newest call may change while the bakery runs on: heading and address are read of one and the same.
  const call = page.locator(".call", { has: page.getByRole("link", { name: "Evidence and answer" }) }).first();
  await call.waitFor({ timeout: UNTIL_AN_ALERT_MS });
  assert.match(await call.innerText(), /Try first/);
  const { heading, place } = await call.evaluate((one) => ({ heading: one.querySelector("h2").innerText, place: one.querySelector("a").getAttribute("href") }));
  assert.match(heading, /^Tunnel oven \d: /);
  await go(page, served.base, place);

  await page.locator("h1", { hasText: heading }).waitFor();
  const rows = page.locator(".evidence tbody tr");
  assert.ok(await rows.count() >= 4);
  assert.match(await rows.last().innerText(), /\d+\.\d\s+\d+\.\d\s+\d+\.\d/);
  assert.match(await page.locator(".advice").innerText(), /Caution\. .*licensed/s);
  await assertUsable(page);

  const acknowledge = page.getByRole("button", { name: "Acknowledge" });
  assert.equal(await acknowledge.isDisabled(), true, "an answer without a name");
  await page.getByLabel("Your name").fill("Ann");
  await page.getByLabel("Comment", { exact: true }).fill("Opening the damper of zone 3.");
  await acknowledge.click();
  await page.locator(".summary", { hasText: "by Ann" }).waitFor();
  await page.locator("q", { hasText: "Opening the damper of zone 3." }).waitFor();
  await page.locator("section", { hasText: "Who did what" }).locator("ol li", { hasText: "Acknowledged" }).first().waitFor();

  await page.getByText("Keep this kind quiet").click();
  await page.getByLabel("Reason").fill("Trial run at a higher rate.");
  await page.getByRole("button", { name: /^Shelve until/ }).click();
  await page.getByText("It is shelved.").waitFor();
  await page.getByRole("link", { name: "All alerts" }).click();
  await page.locator("section", { hasText: "Kinds that call nobody now" }).getByText("Trial run at a higher rate.").waitFor();
  await assertUsable(page);
  assertQuiet(page);
  await page.context().close();
});

test("one oven: its profile in the units wanted, its hours zoomed, as a table, a file and a picture", async () => {
  const page = await desktop();
  await go(page, served.base, "#/ovens/tunnel-1");
  const profile = page.locator(".profile-table");
  await profile.waitFor();
  assert.equal(await profile.locator("tbody tr").count(), 4);
  assert.match(await profile.locator("caption").innerText(), /^Moisture by volume in % vol, air temperature in °C/);
  await page.locator("section", { hasText: "Profile now" }).getByRole("radio", { name: "Dew point" }).check();
  await page.getByRole("button", { name: "Display" }).click();
  await page.getByRole("radio", { name: "US" }).check();
  await page.keyboard.press("Escape");
  assert.match(await profile.locator("caption").innerText(), /^Dew point in °F, air temperature in °F/);

  const csv = async () => {
    const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save CSV" }).click()]);
    assert.match(download.suggestedFilename(), /^tunnel-1_\d{4}-\d\d-\d\d_\d{4}\.csv$/);
    return readFileSync(await download.path(), "utf8").trimEnd().split("\r\n");
  };
  await page.locator(".time-chart canvas").nth(3).waitFor();
  const whole = await csv();
  assert.match(whole[0], /^time,state,product,Band speed \(ft\/min\),Dew point Z1 \(°F\)/);
  assert.ok(whole.length > 100, `${whole.length} rows in four hours`);
  await page.getByRole("button", { name: "Zoom in" }).click();
  const zoomed = await csv();
  assert.ok(zoomed.length < whole.length * 0.6, `${zoomed.length} of ${whole.length} rows are left`);

  await page.getByText("The same figures as a table").click();
  const table = page.locator(".hours-table tbody tr");
  assert.ok(await table.count() > 20);
  const [picture] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save PNG" }).click()]);
  assert.deepEqual([...readFileSync(await picture.path()).subarray(1, 4)], [...Buffer.from("PNG")]);
  await assertUsable(page);
  assertQuiet(page);
  await page.context().close();
});

test("a shift is opened, held against another, and printed", async () => {
  const page = await desktop();
  await go(page, served.base, "#/shifts");
  await page.getByRole("link", { name: /^Table of Tunnel oven 1/ }).nth(1).click();
  await page.locator("section tbody tr").first().waitFor();
  await page.locator("caption", { hasText: "Moisture in % vol" }).first().waitFor();
  const held = page.getByLabel("Held against");
  await held.selectOption({ index: 1 });
  await page.waitForURL(/against=/);
  const address = await page.getByRole("link", { name: "Printable sheet" }).getAttribute("href");
  const sheet = await page.request.get(new URL(address, served.base).href);
  assert.equal(sheet.status(), 200);
  assert.match(await sheet.text(), /<table/);
  await assertUsable(page);
  assertQuiet(page);
  await page.context().close();
});

test("a normal says what it was learned from, and is retired", async () => {
  const page = await desktop();
  await go(page, served.base, "#/normals");
  await page.getByRole("link", { name: "tunnel-3/R060/1" }).click();
  await page.locator("h1", { hasText: "Normal tunnel-3/R060/1" }).waitFor();
  const facts = page.locator("section", { hasText: "What it was learned from" });
  assert.match(await facts.innerText(), /Approved[\s\S]*\d h in \d+ runs/);
  await page.getByLabel("Your name").fill("Ben");
  await page.getByRole("button", { name: "Retire" }).click();
  await facts.getByText("Retired by Ben").waitFor();
  await page.getByText("stays retired").waitFor();
  assert.equal(await page.getByRole("button", { name: "Approve" }).count(), 0);
  await assertUsable(page);
  assertQuiet(page);
  await page.context().close();
});

test("a rate change is reviewed, proposed, agreed by all three, and made", { timeout: UNTIL_A_BALANCE_MS + 60000 }, async () => {
  const page = await desktop();
  const normals = await (await page.request.get(new URL("/api/v1/normals", served.base).href)).json();
  const normal = normals.items.find((one) => one.line === "tunnel-1");
  const speed = normal.fastest_m_min.toFixed(2);
  await go(page, served.base, `#/rate-changes/review?line=tunnel-1&product=${normal.product}&speed=${speed}`);
  // The demo fits its balances once it is up: until then the service says what is missing.
  const verdict = page.locator(".summary", { hasText: "Chance of carryover" });
  const askAgain = page.getByRole("button", { name: "Ask again" });
  for (const deadline = Date.now() + UNTIL_A_BALANCE_MS; Date.now() < deadline && await verdict.count() === 0; await page.waitForTimeout(1000)) {
    if (await askAgain.count() > 0) await askAgain.click();
  }
  await verdict.waitFor();
  assert.ok(await page.locator(".remedies > li").count() >= 2);
  await assertUsable(page);
  await page.getByLabel("Your name").fill("Ann");
  await page.getByLabel("What for").fill("Order of the day");
  await page.getByRole("button", { name: /^Propose/ }).click();
  await page.locator("h1", { hasText: "Rate change 1: Tunnel oven 1" }).waitFor();
  for (const party of ["production", "process", "maintenance"]) {
    await page.getByRole("button", { name: `Agree for ${party}` }).click();
    await page.locator(".steps .done", { hasText: `Agreed for ${party}` }).waitFor();
  }
  await page.getByRole("button", { name: "It is made" }).click();
  await page.locator(".steps .done", { hasText: "Made" }).waitFor();
  assert.equal(await page.getByRole("button", { name: "Look at what came" }).isDisabled(), true, "a day has not passed");
  await assertUsable(page);
  await page.getByRole("link", { name: "All rate changes" }).click();
  await page.locator("tbody tr", { hasText: "Made" }).waitFor();
  assertQuiet(page);
  await page.context().close();
});

test("energy is told beside its moisture, a baseline of too few days is refused, and the file holds the same records", async () => {
  const page = await desktop();
  await go(page, served.base, "#/energy");
  await page.locator(".indicator").waitFor({ timeout: 60000 });
  assert.match(await page.locator(".indicator").innerText(), /\d+\skWh\/t[\s\S]*\d+\.\d\s% vol/);
  const rows = await page.locator(".energy-records tbody tr").count();
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("link", { name: "Save CSV" }).click()]);
  const lines = readFileSync(await download.path(), "utf8").trimEnd().split(/\r?\n/);
  assert.match(lines[0], /kwh_per_t/);
  // A shift may have begun between the two questions.
  assert.ok([rows, rows + 1].includes(lines.length - 1), `${lines.length - 1} records in the file, ${rows} on the page`);
  const day = await page.locator(".clock time").getAttribute("datetime");
  await page.getByLabel("Baseline from").fill(new Date(Date.parse(day) - 2 * 86400e3).toISOString().slice(0, 10));
  await page.getByLabel("Baseline before").fill(day.slice(0, 10));
  await page.locator(".notice", { hasText: "No baseline from" }).waitFor({ timeout: 60000 });
  await assertUsable(page);
  assertQuiet(page);
  await page.context().close();
});

/** A logger's file, invented: it lies in the hall, travels through tunnel-1 and ends behind it. */
function loggerFile(now) {
  const begins = now - 60 * 60000;
  const rows = Array.from({ length: 240 }, (_, step) => {
    const minutes = step / 6;
    const inside = minutes > 2;
    return [new Date(begins + minutes * 60000).toISOString(), inside ? 225 : 24, inside ? (80 - 1.2 * minutes).toFixed(1) : 12].join(";");
  });
  return ["stamp;air;dew", ...rows].join("\n");
}

test("a travelling logger's run is brought, laid on the zones and held against the fixed sensors", async () => {
  const page = await desktop();
  await go(page, served.base, "#/transit-runs");
  const now = Date.parse(await page.locator(".clock time").getAttribute("datetime"));
  await page.getByLabel("The logger's file (CSV)").setInputFiles({ name: "run.csv", mimeType: "text/csv", buffer: Buffer.from(loggerFile(now)) });
  assert.equal(await page.getByLabel("Column of humidity").inputValue(), "dew");
  await page.getByRole("button", { name: "Bring it" }).click();
  await page.locator("h1", { hasText: "Tunnel oven 1: run of" }).waitFor({ timeout: 60000 });
  const zones = page.locator("section", { hasText: "Zone by zone" }).locator("tbody tr");
  assert.equal(await zones.count(), 4);
  assert.match(await zones.first().innerText(), /^1\s+0\.0 to 7\.0\s+\d+\.\d\s+\d+\.\d\s+[+−]?\d+\.\d/, "logger, fixed sensor, offset");
  await assertUsable(page);
  await page.getByRole("link", { name: "All runs" }).click();
  await page.locator("tbody tr", { hasText: "Tunnel oven 1" }).waitFor();
  assertQuiet(page);
  await page.context().close();
});

test("the plant page counts signals and readings", async () => {
  const page = await desktop();
  await go(page, served.base, "#/plant");
  assert.match(await page.locator("h2", { hasText: "Signals" }).innerText(), /55 configured/);
  const store = page.locator("section", { hasText: "Not yet sealed" });
  assert.match(await store.innerText(), /Readings\s+\d/);
  assertQuiet(page);
  await page.context().close();
});

test("the keyboard reaches everything and the focus is where one expects it", async () => {
  const page = await desktop();
  await go(page, served.base, "");
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Skip to the page");
  await page.keyboard.press("Enter");
  assert.equal(await page.evaluate(() => document.activeElement.id), "main");
  const display = page.getByRole("button", { name: "Display" });
  await display.focus();
  await page.keyboard.press("Enter");
  await page.getByRole("group", { name: "Display" }).waitFor();
  await page.keyboard.press("Escape");
  assert.equal(await display.evaluate((one) => one === document.activeElement), true);
  assert.equal(await page.getByRole("group", { name: "Display" }).count(), 0);
  await page.getByRole("link", { name: "Plant" }).focus();
  await page.keyboard.press("Enter");
  await page.locator("h1", { hasText: "Plant" }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.id), "main");
  await page.context().close();
});

for (const screen of SCREENS) {
  describe(screen.name, () => {
    for (const place of ["", "#/alerts", "#/ovens/tunnel-2", "#/shifts", "#/rate-changes", "#/energy", "#/transit-runs", "#/normals", "#/plant", "plain"]) {
      test(`page ${place === "" ? "ovens" : place}`, async () => {
        const page = await open(browser, served.base, screen);
        await go(page, served.base, place);
        await assertUsable(page);
        assertQuiet(page);
        await page.context().close();
      });
    }
  });
}
