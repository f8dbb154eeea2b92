// Every place in light and dark, wide and narrow: nothing runs over the edge, nothing is a serious fault.
import { accessible, close, must, open, Server } from "./bench.mjs";
import { CASE, settled } from "./sheet-words.mjs";

const WIDTHS = [1920, 1440, 768, 390];

export async function looks(browser, program) {
  const server = await new Server(program).start();
  for (const dark of [false, true]) {
    for (const width of WIDTHS) {
      const page = await open(browser, `${server.address}/#/sheet/${CASE}/normal`, { width, height: width === 390 ? 844 : 1000, dark });
      await settled(page);
      const where = `the sheet at ${width}, ${dark ? "dark" : "light"},`;
      await fits(page, where);
      if (width === 390) await inOrder(page);
      if (width === 1440 || width === 390) await accessible(page, where);
      await page.goto(`${server.address}/#/`);
      await page.waitForSelector("tbody tr");
      await fits(page, `the folder at ${width}`);
      if (width === 390) await accessible(page, `the folder at ${width}, ${dark ? "dark" : "light"},`);
      await close(page);
    }
  }
  await server.end();
}

async function fits(page, where) {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  must(over <= 0, `${where} fits its width`, `${over} px over`);
}

/** On a phone: drawing, verdicts, numbers, curves, case. */
async function inOrder(page) {
  const tops = await page.evaluate(() => ["#stage", ".phone", ".duties table", "#curves-title", "form"].map((place) => document.querySelector(place).getBoundingClientRect().top));
  must(tops.every((top, k) => k === 0 || top > tops[k - 1]), "a phone shows drawing, verdicts, numbers, curves, case in this order", tops.join());
}
