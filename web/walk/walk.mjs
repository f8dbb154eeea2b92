// The walk through every place of the page in a real browser: node walk/walk.mjs PROGRAM [PLACE...]
import { browser, count } from "./bench.mjs";
import { emptyFolder, folder } from "./folder.mjs";
import { files } from "./files.mjs";
import { film } from "./film.mjs";
import { keyboard } from "./keyboard.mjs";
import { looks } from "./looks.mjs";
import { proof } from "./proof.mjs";
import { report } from "./report.mjs";
import { sheet } from "./sheet.mjs";
import { speed } from "./speed.mjs";

const [program, ...wanted] = process.argv.slice(2);
if (!program) {
  console.error("node walk/walk.mjs PROGRAM [PLACE...]");
  process.exit(2);
}
const places = { speed, folder, emptyFolder, sheet, film, files, keyboard, report, proof, looks };
const started = await browser();
let failed = 0;
for (const [name, walk] of Object.entries(places)) {
  if (wanted.length > 0 && !wanted.includes(name)) continue;
  const begin = Date.now();
  const before = count();
  try {
    await walk(started, program);
    console.log(`ok     ${name}: ${count() - before} things hold, ${((Date.now() - begin) / 1000).toFixed(1)} s`);
  } catch (error) {
    failed++;
    console.error(`FAILED ${name}: ${error.stack ?? error}`);
  }
}
await started.close();
console.log(failed === 0 ? `the walk is through: ${count()} things hold` : `${failed} stretches failed`);
process.exit(failed === 0 ? 0 : 1);
