// Without a pointer: from the folder to a changed, explained and saved sheet.
import { close, must, open, Server, until } from "./bench.mjs";
import { CASE, field, settled } from "./sheet-words.mjs";

export async function keyboard(browser, program) {
  const server = await new Server(program).start();
  const page = await open(browser, `${server.address}/`);
  await page.waitForSelector("tbody tr");
  await page.keyboard.press("Tab");
  must((await page.evaluate(() => document.activeElement.textContent)) === "To the content", "the first stop leads to the content");
  await page.keyboard.press("Enter");
  await page.keyboard.press("/");
  await page.keyboard.type("brine-booster.toml");
  await until("one case is left", async () => (await page.locator("tbody tr").count()) === 1);
  for (let k = 0; k < 8 && !(await page.evaluate(() => document.activeElement.matches("tbody a"))); k++) await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await settled(page);

  await page.keyboard.press("?");
  await page.waitForSelector("dialog[open]");
  await page.keyboard.press("Escape");
  must((await page.locator("dialog[open]").count()) === 0, "the list of keys closes");

  await page.keyboard.press("3");
  await page.waitForURL(/normal/);
  await page.keyboard.press("e");
  for (let k = 0; k < 20 && (await page.evaluate(() => document.activeElement.id)) !== "field-duty-normal-pressure"; k++) await page.keyboard.press("Enter");
  must((await page.evaluate(() => document.activeElement.id)) === "field-duty-normal-pressure", "Enter goes from field to field");
  const before = await page.textContent('#answer [data-key="minimum_film_m"]');
  await page.keyboard.type("16");
  await settled(page);
  must((await field(page, "duty.normal.pressure").inputValue()) === "16 bar(g)", "a number is written over, its unit stays");
  await page.keyboard.press("ArrowUp");
  await until("an arrow steps the last digit", async () => (await field(page, "duty.normal.pressure").inputValue()) === "17 bar(g)");
  await settled(page);
  must((await page.textContent('#answer [data-key="minimum_film_m"]')) !== before, "the result follows");
  const visible = await page.evaluate(() => getComputedStyle(document.activeElement).outlineStyle);
  must(visible === "solid", "focus is seen");
  await page.keyboard.press("Control+s");
  await until("saved by keys", () => server.read(CASE).includes("17 bar(g)"));

  await page.evaluate(() => document.activeElement.blur());
  await page.keyboard.press("w");
  await page.waitForSelector(".why .equation");
  await page.keyboard.press("Escape");
  await page.keyboard.press("p");
  await page.waitForSelector("h1:has-text('Proof')");
  await close(page);
  await server.end();
}
