// Film: maps of grooved and of plain faces, cuts by keys and by pointer, another duty, stopped work, the face as a file.
import { readFileSync } from "node:fs";

import { accessible, close, must, open, Server, until } from "./bench.mjs";
import { CASE } from "./sheet-words.mjs";

const GROOVED = "grooved.toml";
const GROOVES = `
[[texture]]
on = "stationary"
kind = "T grooves"
count = 6
depth = "2 um"
inner = "54 mm"
outer = "61.6 mm"
stem_width_ratio = 0.2
bar = "1.2 mm"
`;

export async function film(browser, program) {
  const server = await new Server(program).start();
  server.write(GROOVED, `${server.read(CASE)}${GROOVES}`);
  await grooved(browser, server);
  await plain(browser, server);
  await stopped(browser, server);
  await looks(browser, server);
  await server.end();
}

const at = (server, name, duty = "normal") => `${server.address}/#/film/${name}/${encodeURIComponent(duty)}`;
const ready = (page) => page.waitForSelector(".chart svg");
const reading = (page, key) => page.locator("figure", { has: page.locator(`[data-map=${key}]`) }).locator(".value").textContent();
const slider = (page, name) => page.locator(`label.slide:has-text('${name}') input`);

async function grooved(browser, server) {
  const page = await open(browser, at(server, GROOVED));
  await ready(page);
  must((await page.locator("figure").count()) === 3, "pressure, gap and cavities have each their map");
  const colours = await page.evaluate(() =>
    [...document.querySelectorAll("figure canvas")].map((canvas) => {
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      const seen = new Set();
      for (let k = 0; k < data.length; k += 4) if (data[k + 3] === 255) seen.add((data[k] << 16) | (data[k + 1] << 8) | data[k + 2]);
      return seen.size;
    }),
  );
  must(colours[0] > 40 && colours[1] > 5, "the maps are painted in steps of one scale", colours.join());
  must((await page.locator("path.cut").first().getAttribute("d")).split("Z").length - 1 === 6, "every groove has its edge");
  const numbers = await page.locator("dl").innerText();
  for (const words of ["least gap", "greatest pressure", "cavitated share"]) must(numbers.includes(words), `the numbers tell the ${words}`, numbers);

  const before = { pressure: await reading(page, "pressure"), chart: await page.locator(".chart").first().innerHTML() };
  await slider(page, "radius").focus();
  await page.keyboard.press("Home");
  await until("the pressure at the inner edge is the low one", async () => (await reading(page, "pressure")).startsWith("0.1013"));
  await until("the cut follows the radius", async () => (await page.locator(".chart").first().innerHTML()) !== before.chart);
  await page.keyboard.press("End");
  await until("and that at the outer edge the high one", async () => (await reading(page, "pressure")).startsWith("1.201"));
  for (let k = 0; k < 3; k++) await page.keyboard.press("PageDown");
  await slider(page, "angle").focus();
  const gap = await reading(page, "gap");
  await page.keyboard.press("PageUp");
  await until("the gap differs from angle to angle", async () => (await reading(page, "gap")) !== gap);

  await page.locator("input[value=close-up]").focus();
  await page.keyboard.press("Space");
  await until("the close-up is wider than high", () => page.evaluate(() => ((canvas) => canvas.width > 1.2 * canvas.height)(document.querySelector("figure canvas"))));
  const box = await page.locator("figure svg").first().boundingBox();
  const angle = await slider(page, "angle").inputValue();
  await page.mouse.click(box.x + 0.3 * box.width, box.y + 0.45 * box.height);
  await until("a click on a map puts the cut there", async () => (await slider(page, "angle").inputValue()) !== angle);
  await accessible(page, "the film");

  const pressure = await page.locator("dl").innerText();
  await page.locator("input[name=duty][value=standstill]").focus();
  await page.keyboard.press("Space");
  await page.waitForURL(/standstill/);
  await until("another duty has its own film", async () => (await page.locator(".state").textContent()).includes("film of standstill") && (await page.locator("dl").innerText()) !== pressure);
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("button:has-text('Face SVG')")]);
  must(readFileSync(await download.path(), "utf8").includes("face of the stationary ring along the shaft"), "the face is taken along as a drawing");
  await close(page);
}

async function plain(browser, server) {
  const page = await open(browser, `${server.address}/#/sheet/${CASE}/normal`);
  await page.waitForSelector("#answer .value");
  await page.evaluate(() => document.activeElement.blur());
  await page.keyboard.press("l");
  await ready(page);
  must((await page.locator(".note").first().textContent()).includes("axisymmetric"), "plain faces are said to have an axisymmetric film");
  must((await slider(page, "angle").count()) === 0 && (await page.locator("figure").count()) === 2, "no angle to choose, no cavities to see");
  await accessible(page, "the film of plain faces");
  await close(page);
}

async function stopped(browser, server) {
  const page = await open(browser, at(server, "ammonia-compressor.toml", "maximum"));
  await page.click("button:has-text('Stop')");
  await page.waitForSelector("button:has-text('Compute it')");
  must((await page.locator("figure").count()) === 0, "what was stopped shows nothing");
  await close(page);
}

async function looks(browser, server) {
  for (const dark of [false, true]) {
    for (const width of [1920, 1440, 768, 390]) {
      const page = await open(browser, at(server, GROOVED), { width, height: width === 390 ? 844 : 1000, dark });
      await ready(page);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      must(over <= 0, `the film at ${width} fits its width`, `${over} px over`);
      if (width === 1440 || width === 390) await accessible(page, `the film at ${width}, ${dark ? "dark" : "light"},`);
      await close(page);
    }
  }
}
