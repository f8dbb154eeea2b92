// Proof: the published checks rerun, filtered, counted.
import { accessible, close, must, open, Server, until } from "./bench.mjs";

export async function proof(browser, program) {
  const server = await new Server(program).start();
  const page = await open(browser, `${server.address}/#/proof`);
  await page.waitForSelector("tbody tr");
  await until("every check has run", async () => (await page.locator("text=not run yet").count()) === 0 && (await page.locator("text=Run them again").count()) === 1);
  const [quantities, checks] = (await page.locator(".count b").allInnerTexts()).map(Number);
  must(quantities > 100 && checks > 30, "quantities and checks are counted", `${quantities} of ${checks}`);
  must((await page.locator("tbody tr").count()) === quantities, "the count is that of the lines");
  const [expected, computed] = await page.locator("tbody tr").first().locator("td.number").allInnerTexts();
  must(/\d/.test(expected) && /\d/.test(computed), "a line has expected and computed value");
  must((await page.locator("tbody tr .word", { hasText: "contradicts" }).count()) === 0, "no proof contradicts");
  await page.fill("input[type=search]", "lebeck");
  await until("a search leaves its lines", async () => (await page.locator("tbody tr").count()) < quantities);
  await accessible(page, "the proof");
  await close(page);
  await server.end();
}
