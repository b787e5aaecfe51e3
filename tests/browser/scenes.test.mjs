// States that are hard to reach with a running bakery, against the recorded one.

import assert from "node:assert/strict";
import { after, before, describe, test } from "node:test";
import { assertQuiet, assertUsable, go, launch, open, SCREENS } from "./support/browser.mjs";
import { recorded, recordedAnswer } from "./support/served.mjs";

const [NEWER, OLDER] = recordedAnswer("transit-runs").items.map((run) => run.id);
const REVIEW = "#/rate-changes/review?line=tunnel-1&product=T800&speed=1.42";

let browser;
let served;
before(async () => {
  [browser, served] = await Promise.all([launch(), recorded()]);
});
after(async () => {
  await browser?.close();
  await served?.end();
});

const inScene = (scene, screen = SCREENS[0]) => open(browser, served.base, screen, [{ name: "scene", value: scene }]);

for (const screen of SCREENS) {
  describe(screen.name, () => {
    for (const scene of ["overloaded", "calm", "answered", "shelved", "trouble", "twelve"]) {
      test(`all ovens at a glance: ${scene}`, async () => {
        const page = await inScene(scene, screen);
        await go(page, served.base, "");
        await assertUsable(page);
        assertQuiet(page);
        await page.context().close();
      });
    }

    const places = [
      "#/alerts", "#/ovens/tunnel-2", "#/shifts", "#/shifts/tunnel-2/2026-11-25/late", "#/normals",
      "#/normals/tunnel-2%2FB400%2F2?against=tunnel-2%2FB400%2F1", "#/plant", "#/nowhere",
      "#/rate-changes", REVIEW, "#/rate-changes/tunnel-1%2Frate%2F1", "#/energy", "#/energy?line=tunnel-2", "#/energy?line=tunnel-3&by=product",
      "#/transit-runs", `#/transit-runs/${NEWER}?against=${OLDER}`,
    ];
    for (const place of places) {
      test(`page ${place}`, async () => {
        const page = await inScene("overloaded", screen);
        await go(page, served.base, place);
        await assertUsable(page);
        assertQuiet(page);
        await page.context().close();
      });
    }
  });
}

test("one overloaded oven stands out among twelve, by word and shape as well as by colour", async () => {
  const page = await inScene("twelve");
  await go(page, served.base, "");
  assert.equal(await page.locator(".oven").count(), 12);
  const loud = page.locator(".oven.high");
  assert.equal(await loud.count(), 1);
  assert.match(await loud.locator(".verdict").innerText(), /Overloaded/);
  assert.equal(await loud.locator(".verdict .mark.high").count(), 1);
  assert.equal(await page.locator(".oven .verdict.calm .mark.normal").count(), 11);
  // Seen from three metres: the call is the largest text on the page, and wholly on the first screen.
  const call = page.locator(".call h2");
  assert.match(await call.innerText(), /Tunnel oven 5: overloaded/);
  const sizes = await page.evaluate(() => [...document.querySelectorAll("main *")].map((one) => parseFloat(getComputedStyle(one).fontSize)));
  assert.equal(Math.max(...sizes), await call.evaluate((one) => parseFloat(getComputedStyle(one).fontSize)));
  await page.context().close();
});

test("what is kept quiet calls nobody and is named beside its oven", async () => {
  const page = await inScene("shelved");
  await go(page, served.base, "");
  assert.match(await page.locator(".calls-list").innerText(), /Nothing needs a person/);
  assert.match(await page.locator(".oven").nth(2).innerText(), /Kept quiet: too little steam/);
  await page.context().close();
});

test("an oven that nothing is heard of is not shown as normal", async () => {
  const page = await inScene("trouble");
  await go(page, served.base, "");
  const silent = page.locator(".oven").nth(1);
  assert.match(await silent.innerText(), /No reading for 15 min/);
  assert.equal(await silent.locator(".mark.normal").count(), 0);
  assert.match(await page.locator(".notice").first().innerText(), /does not do its whole work[\s\S]*disk is full/);
  await page.context().close();
});

test("two versions of a normal are compared, and what lies outside of the band is marked", async () => {
  const page = await inScene("overloaded");
  await go(page, served.base, "#/normals/tunnel-2%2FB400%2F2");
  await page.getByLabel("with").selectOption("tunnel-2/B400/1");
  const table = page.locator("table", { hasText: "then tunnel-2/B400/2" });
  await table.waitFor();
  assert.equal(await table.locator("tbody").getByText("◆").count(), 3, "zone 6 at each of three speeds");
  await page.context().close();
});

test("signals that want a look come first, with their age and state in words", async () => {
  const page = await inScene("overloaded");
  await go(page, served.base, "#/plant");
  assert.match(await page.locator("h2", { hasText: "Signals" }).innerText(), /55 configured, 2 to look at/);
  assert.match(await page.locator("main").innerText(), /32 min[\s\S]*too old, stale[\s\S]*never heard/);
  await page.getByRole("radio", { name: "All" }).check();
  assert.equal(await page.locator("section", { hasText: "Signals" }).locator("tbody tr").count(), 55);
  await page.context().close();
});

test("an answer carries a name, goes out once, and a refusal is told in the service's words", async () => {
  const page = await inScene("overloaded");
  const sent = [];
  let refuse = true;
  await page.route("**/api/v1/alerts/*/acknowledge", (route) => {
    sent.push([route.request().method(), route.request().postDataJSON()]);
    return refuse
      ? route.fulfill({ status: 409, contentType: "application/problem+json", json: { title: "Conflict", status: 409, detail: "It is acknowledged already; a comment adds to it." } })
      : route.fulfill({ json: {} });
  });
  await go(page, served.base, "");
  await page.getByRole("link", { name: "Evidence and answer" }).first().click();
  const acknowledge = page.getByRole("button", { name: "Acknowledge" });
  await acknowledge.waitFor();
  assert.equal(await acknowledge.isDisabled(), true, "without a name");
  await page.getByLabel("Your name").fill("Ann");
  await acknowledge.click();
  await page.getByRole("status").getByText("acknowledged already").waitFor();
  refuse = false;
  await page.getByLabel("Comment", { exact: true }).fill(" Opening the damper. ");
  await acknowledge.click();
  await page.getByText("Acknowledged.", { exact: true }).waitFor();
  assert.deepEqual(sent, [["POST", { by: "Ann" }], ["POST", { by: "Ann", comment: "Opening the damper." }]]);
  assert.equal(await page.getByLabel("Comment", { exact: true }).inputValue(), "");
  await page.context().close();
});

test("a kind is shelved with its reason and end, or taken out of service without one", async () => {
  const page = await inScene("overloaded");
  const sent = [];
  await page.route("**/api/v1/suppressions", (route) => {
    sent.push(route.request().postDataJSON());
    return route.fulfill({ json: {} });
  });
  await go(page, served.base, "");
  await page.getByRole("link", { name: "Evidence and answer" }).first().click();
  await page.getByLabel("Your name").fill("Ben");
  await page.getByText("Keep this kind quiet").click();
  const shelve = page.getByRole("button", { name: /^Shelve until/ });
  assert.equal(await shelve.isDisabled(), true, "without a reason");
  await page.getByLabel("Reason").fill("Trial run");
  await page.getByRole("radio", { name: "4 h" }).check();
  await shelve.click();
  await page.getByText("It is shelved.").waitFor();
  await page.getByRole("radio", { name: "Out of service" }).check();
  await page.getByRole("button", { name: "Take out of service" }).click();
  await page.getByText("It is out of service.").waitFor();
  const [shelf, out] = sent;
  assert.deepEqual({ ...shelf, until: "" }, { by: "Ben", line: "tunnel-2", kind: "unmatched-speed-rise", reason: "Trial run", until: "" });
  assert.match(shelf.until, /^\d{4}-\d\d-\d\dT[\d:.]+Z$/);
  assert.deepEqual(out, { by: "Ben", line: "tunnel-2", kind: "unmatched-speed-rise", reason: "Trial run" });
  await page.context().close();
});

test("who must sign in does that first, and is told when name or password are wrong", async () => {
  const page = await inScene("overloaded");
  await page.route("**/api/v1/session", (route) => route.request().method() === "GET"
    ? route.fulfill({ json: { name: null, role: null, open: false } })
    : route.fulfill({ status: 401, contentType: "application/problem+json", json: { title: "Unauthorized", status: 401, detail: "The name or the password is wrong. Try again." } }));
  await go(page, served.base, "");
  await page.locator("h1", { hasText: "Sign in" }).waitFor();
  await assertUsable(page);
  await page.getByLabel("Name", { exact: true }).fill("Ann");
  await page.getByLabel("Password").fill("wrong");
  await page.keyboard.press("Enter");
  await page.getByRole("alert").getByText("The name or the password is wrong").waitFor();
  assert.equal(await page.getByLabel("Password").inputValue(), "");
  await page.context().close();
});

test("a viewer sees everything and is offered no answer", async () => {
  const page = await inScene("overloaded");
  await page.route("**/api/v1/session", (route) => route.fulfill({ json: { name: "Vic", role: "viewer", open: false } }));
  await go(page, served.base, "");
  await page.getByRole("link", { name: "Evidence and answer" }).first().click();
  await page.getByText("sign in as a shift lead").waitFor();
  assert.equal(await page.getByRole("button", { name: "Acknowledge" }).count(), 0);
  await page.getByRole("button", { name: "Sign out Vic" }).waitFor();
  await page.context().close();
});
