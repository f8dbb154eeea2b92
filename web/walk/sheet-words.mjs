// Looking things up on a Sheet.
import { until } from "./bench.mjs";

export const CASE = "brine-booster.toml";
export const at = (server, name = CASE, duty = "normal") => `${server.address}/#/sheet/${name}/${encodeURIComponent(duty)}`;

/** Waits until every number on the page belongs to the text as it stands. */
export async function settled(page) {
  await page.waitForSelector("#answer .value .v");
  await until("the result is computed", () =>
    page.evaluate(() => document.querySelector("#answer")?.getAttribute("aria-busy") === "false" && document.querySelector(".duties table")?.getAttribute("aria-busy") === "false" && document.querySelectorAll(".duties td.old").length === 0 && document.querySelectorAll(".duties td[data-duty]").length > 0 && !document.querySelector(".duties tbody tr[data-key=minimum_film_m]")?.textContent?.includes("…")),
  );
}

/** A number of the answer on top. */
export const answer = (page, key) => page.textContent(`#answer [data-key="${key}"]`);

/** A field of the form by its path. */
export const field = (page, path) => page.locator(`[data-path="${path}"] :is(input, select)`);

/** Writes the whole value: a field that gets the focus chooses its number alone. */
export async function write(page, path, value) {
  await field(page, path).focus();
  await field(page, path).fill(value);
}

export async function change(page, path, value) {
  await write(page, path, value);
  await page.keyboard.press("Enter");
  await settled(page);
}
