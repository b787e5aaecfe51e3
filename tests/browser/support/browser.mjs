// The browser, and what every page is held to: no violation that axe finds, no word outside of its page, no request
// to another machine, nothing that the content policy forbids.

import assert from "node:assert/strict";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

// Run in the page by the browser itself: a script tag would be refused by the page's content policy, as it should be.
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const EXECUTABLE = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find((path) => existsSync(path));

/** The screens on which the console is looked at. */
export const SCREENS = [
  { name: "desktop, light", width: 1440, height: 900, theme: "light" },
  { name: "desktop, dark", width: 1440, height: 900, theme: "dark" },
  { name: "tablet, light", width: 768, height: 1024, theme: "light" },
  { name: "tablet, dark", width: 768, height: 1024, theme: "dark" },
];

/** Starts the browser; the caller closes it. */
export function launch() {
  assert.ok(EXECUTABLE, "chromium is not installed: tests/run installs it");
  return chromium.launch({ executablePath: EXECUTABLE, args: ["--no-sandbox"] });
}

/**
 * A page of its own at `base`, as this screen shows it. `complaints` gathers errors, refusals of the content policy and
 * requests to elsewhere; a test ends with `assertQuiet`.
 */
export async function open(browser, base, screen, cookies = []) {
  const context = await browser.newContext({
    viewport: { width: screen.width, height: screen.height }, colorScheme: screen.theme, acceptDownloads: true, locale: "en-GB",
  });
  await context.addCookies(cookies.map((cookie) => ({ ...cookie, url: new URL("/", base).href })));
  const page = await context.newPage();
  page.complaints = [];
  page.on("pageerror", (error) => page.complaints.push(`error: ${error.message}`));
  page.on("console", (message) => {
    if (message.text().includes("Content Security Policy")) page.complaints.push(message.text());
  });
  page.on("request", (request) => {
    const { protocol, origin } = new URL(request.url());
    if (protocol.startsWith("http") && origin !== new URL(base).origin) page.complaints.push(`a request to ${origin}`);
  });
  return page;
}

/** Nothing went wrong that nobody saw. */
export function assertQuiet(page) {
  assert.deepEqual(page.complaints, []);
}

/** Goes to a page of the console and waits until its heading and its figures are there. */
export async function go(page, base, place) {
  await page.goto(`${base}${place}`);
  await page.locator("h1").first().waitFor();
  await page.waitForFunction(() => !document.body.textContent.includes("One moment"));
}

/** What axe finds, with its name and where. */
async function violations(page) {
  await page.evaluate(AXE);
  return page.evaluate(async () => {
    const { violations: found } = await window.axe.run(document, { resultTypes: ["violations"] });
    return found.map(({ id, nodes }) => `${id}: ${nodes.map((node) => node.target.join(" ")).join("; ")}`);
  });
}

/** A page that anybody can use, and that fits its screen. */
export async function assertUsable(page) {
  assert.deepEqual(await violations(page), [], page.url());
  const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  assert.ok(over <= 0, `${page.url()} is ${over} px too wide`);
}
