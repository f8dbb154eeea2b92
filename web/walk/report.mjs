// Report: title block, preview, and every download read back.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";

import { accessible, close, must, open, Server, until } from "./bench.mjs";
import { CASE } from "./sheet-words.mjs";

export async function report(browser, program) {
  const server = await new Server(program).start();
  const page = await open(browser, `${server.address}/#/report/${CASE}`);
  await page.fill("label:has-text('project') input", "Brine line 2");
  await page.fill("label:has-text('revision') input", "C");
  await page.fill("label:has-text('author') input", "R. Walker");
  const frame = await page.waitForSelector("iframe");
  await until("the preview shows the title block", async () => (await (await frame.contentFrame())?.textContent("body"))?.includes("Brine line 2"));
  await accessible(page, "the report");

  const pdf = await taken(page, "PDF");
  const text = execFileSync("pdftotext", ["-layout", pdf, "-"], { encoding: "utf8" });
  for (const words of ["Brine booster pump, drive end", "Brine line 2", "R. Walker", "normal", "least film"]) must(text.includes(words), `the PDF says ${words}`, text.slice(0, 400));
  must(readFileSync(await taken(page, "HTML"), "utf8").includes("Brine line 2"), "the HTML says what was typed");
  must(readFileSync(await taken(page, "Case file"), "utf8") === server.read(CASE), "the case file is the file");
  const data = JSON.parse(readFileSync(await taken(page, "Data (JSON, SI)"), "utf8"));
  must(data.duties.length === 6 && data.duties[2].equilibria.length > 0, "the data hold every duty");
  must(readFileSync(await taken(page, "Drawing SVG"), "utf8").includes("<svg"), "the drawing is an SVG");
  must(readFileSync(await taken(page, "Drawing DXF"), "utf8").includes("SECTION"), "the drawing is a DXF");

  await page.reload();
  await until("the title block is remembered", async () => (await page.inputValue("label:has-text('project') input")) === "Brine line 2");
  await close(page);
  await server.end();
}

async function taken(page, what) {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: what, exact: true }).click()]);
  await until(`${what} is made`, async () => page.getByRole("button", { name: what, exact: true }).isEnabled());
  return download.path();
}
