// What every stretch of the walk needs: the program over a copy of the cases, a browser, and words for what must hold.
import { spawn } from "node:child_process";
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

import { AxeBuilder } from "./axe.mjs";
import { chromium } from "playwright-core";

const CASES = join(dirname(fileURLToPath(import.meta.url)), "../../cases");
const SWITCHES = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
/** A page that waits longer than this for anything is broken, on the slowest machine too. */
export const PATIENCE_MS = Number(process.env.PATIENCE_MS ?? 60_000);

/** A stretch that fails must not leave its server behind: who reads the walk's output would wait for it. */
const running = new Set();
process.once("exit", () => running.forEach((server) => server.kill()));

/** A server over a folder of its own; `restart` keeps the folder. */
export class Server {
  constructor(program, { empty = false } = {}) {
    this.program = program;
    this.folder = mkdtempSync(join(tmpdir(), "halfmicron-walk-"));
    if (!empty) cpSync(CASES, this.folder, { recursive: true });
  }

  async start(port = 0) {
    this.process = spawn(this.program, ["serve", this.folder, "--listen", `127.0.0.1:${port}`], { stdio: ["ignore", "pipe", "inherit"] });
    running.add(this.process);
    this.address = await new Promise((found, refuse) => {
      let said = "";
      this.process.stdout.on("data", (data) => {
        said += data;
        const address = /http:\/\/127\.0\.0\.1:\d+/.exec(said);
        if (address) found(address[0]);
      });
      this.process.once("exit", (code) => refuse(new Error(`the server ended with ${code}: ${said}`)));
    });
    return this;
  }

  async stop() {
    const gone = new Promise((done) => this.process.once("exit", done));
    this.process.kill("SIGTERM");
    await gone;
    running.delete(this.process);
  }

  async restart() {
    const port = Number(new URL(this.address).port);
    await this.stop();
    await this.start(port);
  }

  names() {
    return readdirSync(this.folder).filter((name) => name.endsWith(".toml"));
  }
  read(name) {
    return readFileSync(join(this.folder, name), "utf8");
  }
  write(name, text) {
    writeFileSync(join(this.folder, name), text);
  }

  async end() {
    await this.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

export async function browser() {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: SWITCHES });
}

/** A page that fails the walk if it complains. */
export async function open(started, address, { width = 1440, height = 1000, dark = false, allow = [] } = {}) {
  const context = await started.newContext({ viewport: { width, height }, colorScheme: dark ? "dark" : "light", acceptDownloads: true, reducedMotion: "reduce" });
  await context.grantPermissions(["clipboard-read", "clipboard-write"], { origin: new URL(address).origin });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.complaints = [];
  page.on("console", (message) => {
    if (message.type() === "error" && !allow.some((known) => message.text().includes(known))) page.complaints.push(message.text());
  });
  page.refused = [];
  page.on("response", async (response) => {
    if (response.status() >= 400) page.refused.push(`${response.status()} ${response.url()} ${(await response.text().catch(() => "")).slice(0, 300)}`);
  });
  page.on("pageerror", (error) => page.complaints.push(error.stack ?? String(error)));
  await page.goto(address);
  return page;
}

export async function close(page) {
  must(page.complaints.length === 0, "the page does not complain", [...page.complaints, ...page.refused].join("\n"));
  await page.context().close();
}

let passed = 0;
export const count = () => passed;

/** What does not hold ends the walk with its words. */
export function must(holds, words, seen = "") {
  if (!holds) throw new Error(`not so: ${words}${seen === "" ? "" : `\n  seen: ${seen}`}`);
  passed++;
}

export async function until(words, look, patience = PATIENCE_MS) {
  const end = Date.now() + patience;
  let seen;
  while (Date.now() < end) {
    seen = await look();
    if (seen) {
      passed++;
      return seen;
    }
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`not so within ${patience / 1000} s: ${words}`);
}

/** Serious faults of accessibility, as the outside checker finds them. */
export async function accessible(page, where) {
  const faults = await new AxeBuilder(page).faults();
  must(faults.length === 0, `${where} has no serious fault of accessibility`, faults.join("\n"));
}
