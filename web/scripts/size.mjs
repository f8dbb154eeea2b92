// Sum of everything that the page can load, gzipped, against what it may weigh.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";

const MOST_BYTES = 400_000;
const folder = process.argv[2] ?? "dist";
const files = readdirSync(folder, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
let sum = 0;
for (const entry of files) {
  const path = join(entry.parentPath, entry.name);
  const size = gzipSync(readFileSync(path), { level: 9 }).length;
  sum += size;
  console.log(`${(size / 1000).toFixed(1).padStart(7)} kB  ${path}`);
}
console.log(`${(sum / 1000).toFixed(1).padStart(7)} kB  in all, gzipped; at most ${MOST_BYTES / 1000} kB`);
if (sum > MOST_BYTES) process.exit(1);
