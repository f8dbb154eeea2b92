// The picture of the Sheet for the README: node walk/picture.mjs PROGRAM FILE.png
import { browser, open, Server } from "./bench.mjs";
import { at, settled } from "./sheet-words.mjs";

const [program, file] = process.argv.slice(2);
if (!program || !file) {
  console.error("node walk/picture.mjs PROGRAM FILE.png");
  process.exit(2);
}
const server = await new Server(program).start();
const started = await browser();
try {
  const page = await open(started, at(server), { width: 1280, height: 1000 });
  await settled(page);
  await page.waitForSelector("svg");
  await page.screenshot({ path: file, animations: "disabled", caret: "hide" });
} finally {
  await started.close();
  await server.end();
}
