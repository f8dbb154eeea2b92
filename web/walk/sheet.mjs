// Sheet: edit and see the number change, a bad value, hold, undo, duties, why with influences, text view, sweep, copy.
import { accessible, close, must, open, Server, until } from "./bench.mjs";
import { answer, at, CASE, change, field, settled, write } from "./sheet-words.mjs";

export async function sheet(browser, program) {
  const server = await new Server(program).start();
  // A value is tried at once with the others; one that cannot be used is refused, and the browser notes it.
  const page = await open(browser, at(server), { allow: ["422"] });
  await settled(page);
  await edits(page);
  await refuses(page);
  await holds(page);
  await undoes(page);
  await chooses(page);
  await tellsWhy(page);
  await drawsAlong(page);
  await readsText(page, server);
  await sweeps(page);
  await copies(page);
  await switchesUnits(page);
  await close(page);
  await server.end();
}

async function edits(page) {
  const before = await answer(page, "leakage_m3_per_s");
  await change(page, "duty.normal.pressure", "15 bar(g)");
  must((await answer(page, "leakage_m3_per_s")) !== before, "another pressure, another leakage", before);
  must((await page.textContent("[role=status]:text-matches('saved')")) === "not saved", "the change is said not to be saved");
  await accessible(page, "the changed sheet");
}

async function refuses(page) {
  const before = await answer(page, "power_w");
  await write(page, "duty.normal.speed", "9999999 rpm");
  const error = page.locator("#field-duty-normal-speed-error");
  await error.waitFor();
  const words = await error.innerText();
  must(/120\s?000 rpm/.test(words), "a bad value tells its range at the field", words);
  must((await field(page, "duty.normal.speed").getAttribute("aria-invalid")) === "true", "the field is marked");
  must((await page.getAttribute("#answer", "aria-busy")) === "true", "the older result is not presented as current");
  must((await answer(page, "power_w")) === before, "the older result is still to be seen");
  await change(page, "duty.normal.speed", "2960 rpm");
  must((await error.count()) === 0, "a mended value has no error");
}

async function holds(page) {
  await page.getByRole("button", { name: "Hold", exact: true }).click();
  await settled(page);
  await change(page, "seal.spring_force", "260 N");
  await until("a number tells its change against the held one, with sign and size", async () =>
    (await page.locator("#answer .change").allTextContents()).some((told) => /[+−]\d/.test(told)),
  );
  must((await page.locator("td .change").count()) > 5, "the numbers of the table tell theirs");
  await page.getByRole("button", { name: "Release held", exact: true }).click();
  await settled(page);
  must((await page.locator("#answer .change").count()) === 0, "released, no change is told");
}

async function undoes(page) {
  const spring = field(page, "seal.spring_force");
  must((await spring.inputValue()) === "260 N", "the field has what was written");
  await page.keyboard.press("Control+z");
  await until("undo brings the spring back", async () => (await spring.inputValue()) === "190 N");
  await page.keyboard.press("Control+Shift+z");
  await until("redo brings the change back", async () => (await spring.inputValue()) === "260 N");
  await page.keyboard.press("Control+z");
  await page.keyboard.press("Control+z");
  await until("undo goes on to the beginning", async () => (await page.locator("button:has-text('Undo')").isDisabled()) || (await page.keyboard.press("Control+z"), false));
  must((await field(page, "duty.normal.pressure").inputValue()) === "11 bar(g)", "the beginning is the file");
  await settled(page);
}

async function chooses(page) {
  await page.click("thead button:has-text('suction lost')");
  await page.waitForURL(/suction%20lost/);
  await settled(page);
  must((await page.inputValue('[data-path="duty.suction lost.pressure"] input')) === "1 bar(g)", "the form follows the chosen duty");
  must((await page.textContent("#answer .first")).includes("suction lost"), "the answer follows the chosen duty");
  await page.click("thead button:has-text('normal')");
  await settled(page);
}

async function tellsWhy(page) {
  await page.click('#answer [data-key="leakage_m3_per_s"]');
  const why = page.locator(".why");
  await why.locator(".equation").first().waitFor();
  must((await why.locator("table tr").count()) >= 2, "the why tells what entered");
  must((await why.locator("details").count()) > 0, "the why tells its models");
  await until("the influences have come", async () => (await why.locator(".bars .name").count()) >= 8);
  const first = await why.locator(".bars .number").first().innerText();
  must(/\d/.test(first), "an influence has a number", first);
  await until("the study is over", async () => (await why.locator("progress").count()) === 0);
  await accessible(page, "the why");
  await page.keyboard.press("Escape");
  must((await why.count()) === 0, "the why closes");
}

/** Section and curves come from the server; the radius is read across them. */
async function drawsAlong(page) {
  await until("section and three curves are drawn", async () => (await page.locator("#stage svg").count()) >= 4);
  const stage = page.locator("#stage");
  await stage.focus();
  await page.keyboard.press("Home");
  const inner = await stage.getAttribute("aria-valuetext");
  await page.keyboard.press("End");
  const outer = await stage.getAttribute("aria-valuetext");
  must(inner !== outer && /gap/.test(outer), "arrows read the curves at another radius", `${inner} | ${outer}`);
  const heights = await page.evaluate(() => [...document.querySelectorAll("#stage :is(.view, .panel) > svg")].map((svg) => Math.round(svg.getBoundingClientRect().top)));
  must(new Set(heights).size === 1, "section and curves begin at one height", heights.join());
  const cursor = await page.evaluate(() => {
    const svg = document.querySelector("#stage svg[data-radius-low][data-across-low]");
    const line = document.querySelector("#stage .cursor");
    return line.getBoundingClientRect().top - svg.getBoundingClientRect().top - Number(svg.dataset.radiusTop);
  });
  must(Math.abs(cursor) < 1.5, "the line stands at the outer radius", String(cursor));
}

async function readsText(page, server) {
  await page.keyboard.press("t");
  const text = page.locator("[data-editor] .cm-content");
  await text.waitFor();
  must((await text.innerText()).includes("# ten springs") || (await text.innerText()).includes("Saltmere"), "the text view shows the file with its comments");
  await text.click();
  await page.keyboard.press("Control+End");
  await page.keyboard.type("power = 12\n");
  await page.waitForSelector(".problems li");
  must((await page.locator("[data-editor] .cm-lintRange-error").count()) > 0, "an error is underlined where it stands");
  must(/line \d+/.test(await page.innerText(".problems")), "and said with its line");
  await accessible(page, "the text view");
  for (let k = 0; k < 8 && (await page.locator("button:has-text('Undo')").isEnabled()); k++) await page.click("button:has-text('Undo')");
  await page.waitForSelector(".problems .soft");
  must(server.read(CASE).includes("[limits]"), "nothing was written to the file");
  await page.click("button:has-text('Form')");
  await settled(page);
}

async function sweeps(page) {
  await field(page, "duty.normal.pressure").focus();
  await page.getByRole("button", { name: "Sweep it", exact: true }).click();
  await page.waitForSelector(".sweep form");
  await page.fill(".sweep input[type=number]", "5");
  await page.click(".sweep button:has-text('Compute')");
  await until("the sweep has its rows", async () => (await page.locator(".sweep tbody tr").count()) >= 5);
  await page.click(".sweep button:has-text('Close')");
}

async function copies(page) {
  await page.getByRole("button", { name: "Copy table", exact: true }).click();
  const copied = await until("the table is copied", () => page.evaluate(() => navigator.clipboard.readText()));
  const line = copied.split("\n").find((one) => one.startsWith("least film"));
  must(line?.split("\t").length === 8, "a row has label, unit and one cell a duty", line);
}

async function switchesUnits(page) {
  await page.check("input[name=units][value=us]");
  await settled(page);
  must((await page.textContent("#answer")).includes("µin"), "customary units reach the answer");
  await page.check("input[name=units][value=si]");
  await settled(page);
}
