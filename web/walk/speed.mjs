// How long a reader waits. Printed; only what nobody would accept fails, since machines differ.
import { close, must, open, Server } from "./bench.mjs";
import { at, field, settled } from "./sheet-words.mjs";

const PAINT_CAP_MS = 5_000;
const CHANGE_CAP_MS = 10_000;
const REST_MS = 100;
const FRAME_MS = 17;

export async function speed(browser, program) {
  const server = await new Server(program).start();
  const paints = [];
  for (let k = 0; k < 5; k++) {
    const page = await open(browser, `${server.address}/`);
    await page.waitForSelector("tbody tr");
    paints.push(await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0].startTime));
    await close(page);
  }
  const page = await open(browser, at(server));
  await settled(page);
  const pressure = field(page, "duty.normal.pressure");
  await pressure.focus();
  const changes = [];
  for (let k = 0; k < 24; k++) {
    // From rest: what the other duties changed is painted, and the keystroke falls anywhere between two frames of the screen.
    await page.waitForTimeout(REST_MS + FRAME_MS * Math.random());
    changes.push(await waited(page, `${12 + (k % 5)}.${k} bar(g)`));
    await settled(page);
  }
  await close(page);
  await server.end();
  const [paint, change] = [median(paints), median(changes)];
  console.log(`       first paint ${paint.toFixed(0)} ms; change in a field to its result on the screen ${change.toFixed(0)} ms (${Math.min(...changes).toFixed(0)} to ${Math.max(...changes).toFixed(0)}), medians`);
  must(paint < PAINT_CAP_MS, "the first paint comes", `${paint} ms`);
  must(change < CHANGE_CAP_MS, "a change shows", `${change} ms`);
}

/** From the keystroke until the answer is that of the new text and painted. */
function waited(page, value) {
  return page.evaluate(async (value) => {
    const input = document.querySelector('[data-path="duty.normal.pressure"] input');
    const answer = document.querySelector("#answer");
    const begin = performance.now();
    const shown = new Promise((done) => {
      let busy = false;
      const watch = new MutationObserver(() => {
        busy ||= answer.getAttribute("aria-busy") === "true";
        if (!busy || answer.getAttribute("aria-busy") !== "false") return;
        watch.disconnect();
        requestAnimationFrame(() => setTimeout(() => done(performance.now()), 0));
      });
      watch.observe(answer, { attributes: true });
    });
    input.value = value;
    input.dispatchEvent(new InputEvent("input", { bubbles: true }));
    return (await shown) - begin;
  }, value);
}

const median = (values) => values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)];
