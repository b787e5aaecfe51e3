// What the console is tested against: a whole demo of the program, and the recorded bakery for states that are hard to
// reach. Both on loopback, on ports that are free, ended by their own process.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

const ROOT = resolve(import.meta.dirname, "../../..");
const TARGET = process.env.CARGO_TARGET_DIR ?? join(ROOT, "target");
const PROFILE = process.env.CARGO_PROFILE ?? "ci";
/** Learning takes the longest; generous, for a machine with other work. */
const PATIENCE_MS = 420000;

/** Starts a program and waits until it says where it listens. */
async function started(command, args, options, pattern) {
  const child = spawn(command, args, { stdio: ["ignore", "pipe", "pipe"], ...options });
  let said = "";
  const base = await new Promise((found, failed) => {
    const deadline = setTimeout(() => failed(new Error(`${command} did not say where it listens:\n${said}`)), PATIENCE_MS);
    const hear = (chunk) => {
      // Colours are for people.
      said += String(chunk).replace(/\x1b\[[0-9;]*m/g, "");
      const match = pattern.exec(said);
      if (match === null) return;
      clearTimeout(deadline);
      found(match[1]);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.on("exit", (code) => failed(new Error(`${command} ended with ${code}:\n${said}`)));
    child.on("error", failed);
  });
  const end = async () => {
    if (child.exitCode !== null) return;
    const ended = new Promise((done) => child.once("exit", done));
    child.kill("SIGINT");
    await ended;
  };
  return { base, end };
}

/** The demo, 60 times as fast as time. */
export async function demo() {
  const program = join(TARGET, PROFILE, "ovenward");
  assert.ok(existsSync(program), `${program} is missing: cargo build --workspace --profile ${PROFILE}`);
  const place = mkdtempSync(join(tmpdir(), "ovenward-browser-"));
  const args = ["demo", "--speed", "60", "--port", "0", "--dir", join(place, "data")];
  const { base, end } = await started(program, args, {}, /look at\s+(http:\/\/127\.0\.0\.1:\d+)\//);
  return {
    base: `${base}/`,
    async end() {
      await end();
      rmSync(place, { recursive: true, force: true });
    },
  };
}

/** The console as it was built, over the recorded bakery of `npm run dev`; a cookie chooses the scene. */
export async function recorded() {
  const console = join(ROOT, "services/console");
  const vite = join(console, "node_modules/vite/bin/vite.js");
  assert.ok(existsSync(vite), "npm ci in services/console installs what the recorded bakery needs");
  assert.ok(existsSync(join(console, "dist/index.html")), "npm run build in services/console builds the console");
  const { base, end } = await started(process.execPath, [vite, "preview", "--host", "127.0.0.1", "--port", "0"], { cwd: console }, /(http:\/\/127\.0\.0\.1:\d+)\//);
  return { base: `${base}/console/`, end };
}

/** What the recorded bakery answers to a question. */
export function recordedAnswer(path) {
  return JSON.parse(readFileSync(join(ROOT, "services/console/fixtures/recorded", `${path}.json`), "utf8"));
}
