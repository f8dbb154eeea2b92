// Folder: cases with their summaries, search, a new case, comparison; and a folder without cases.
import { existsSync } from "node:fs";
import { join } from "node:path";

import { accessible, close, must, open, PATIENCE_MS, Server, until } from "./bench.mjs";

export async function folder(browser, program) {
  const server = await new Server(program).start();
  const page = await open(browser, `${server.address}/`);
  await page.waitForSelector("tbody tr");
  must((await page.locator("tbody tr").count()) === server.names().length, "every case has its line");
  // One after the other, textured faces among them: as long as the server itself waits.
  await until("every summary has come", async () => (await page.locator("td", { hasText: /^computing$/ }).count()) === 0, 5 * PATIENCE_MS);
  const line = page.locator("tr", { hasText: "brine-booster.toml" });
  must(/\d/.test(await line.locator('[data-label="least film"]').innerText()), "a line tells the least film");
  must((await line.locator(".word").innerText()) === "watch", "a line tells the worst verdict");
  must((await line.locator('[data-label="worst verdict"]').innerText()).length > 20, "a verdict has its reason");
  await accessible(page, "the folder");

  await page.keyboard.press("/");
  await page.keyboard.type("nitrogen blower");
  await until("the search leaves one line", async () => (await page.locator("tbody tr").count()) === 1);
  await page.fill("input[type=search]", "");

  await page.check('[aria-label="choose brine-booster.toml for comparison"]');
  await page.check('[aria-label="choose feed-pump.toml for comparison"]');
  await page.click("text=Compare two");
  await page.waitForSelector("h1:has-text('beside')");
  const speed = page.locator("tr", { has: page.getByRole("rowheader", { name: "duty.normal.speed", exact: true }) });
  await until("values that differ stand side by side", async () => (await speed.count()) === 0 || (await speed.locator("td").allInnerTexts()).length === 2);
  await page.waitForSelector("h2:has-text('Results: normal')");
  const film = page.locator("tr", { has: page.getByRole("rowheader", { name: /^least film/ }) }).first();
  const [first, second] = await film.locator("td").allInnerTexts();
  must(/\d/.test(first) && /\d/.test(second) && first !== second, "results stand side by side", `${first} | ${second}`);
  await accessible(page, "the comparison");

  await page.goto(`${server.address}/#/`);
  await page.waitForSelector("tbody tr");
  await page.keyboard.press("n");
  await page.selectOption("select.box", { label: "the commented starter" });
  await page.fill("form input.box", "walked-pump");
  await page.click("text=Make it");
  await page.waitForURL(/#\/sheet\/walked-pump\.toml/);
  must(existsSync(join(server.folder, "walked-pump.toml")), "the new case is a file");
  await page.waitForSelector("#answer .value");
  await close(page);
  await server.end();
}

export async function emptyFolder(browser, program) {
  const server = await new Server(program, { empty: true }).start();
  const page = await open(browser, `${server.address}/`);
  await page.waitForSelector(".empty li");
  must((await page.locator(".empty li").count()) >= 10, "an empty folder offers starter and works");
  await accessible(page, "the empty folder");
  await page.click(".empty button:text-is('Brine booster pump, drive end')");
  await page.waitForURL(/#\/sheet\/brine-booster\.toml/);
  must(existsSync(join(server.folder, "brine-booster.toml")), "the case taken is a file");
  await close(page);
  await server.end();
}
