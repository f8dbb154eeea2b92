/** Three-way merge of texts by lines, for a case that changed here and outside. */

/** Lines kept (`both`), only in the first, only in the second. */
export interface DiffLine {
  readonly side: "both" | "first" | "second";
  readonly text: string;
}

/** Line by line what two texts share and do not, by a longest common subsequence. */
export function difference(first: string, second: string): DiffLine[] {
  const a = lines(first);
  const b = lines(second);
  const out: DiffLine[] = [];
  let [i, j] = [0, 0];
  for (const [x, y] of [...common(a, b), [a.length, b.length] as const]) {
    while (i < x) out.push({ side: "first", text: a[i++]! });
    while (j < y) out.push({ side: "second", text: b[j++]! });
    if (i < a.length && j < b.length && x < a.length) {
      out.push({ side: "both", text: a[i]! });
      i++;
      j++;
    }
  }
  return out;
}

export interface Merged {
  /** Both changes together; where they touch the same lines, mine stands. */
  readonly text: string;
  /** Places where both changed the same lines differently. */
  readonly conflicts: number;
}

/** Changes of mine and of theirs against a common base. */
export function merge(base: string, mine: string, theirs: string): Merged {
  const o = lines(base);
  const a = lines(mine);
  const b = lines(theirs);
  const inMine = new Map(common(o, a));
  const inTheirs = new Map(common(o, b));
  const out: string[] = [];
  let conflicts = 0;
  let [i, ia, ib] = [0, 0, 0];
  const settle = (from: number, to: number, toA: number, toB: number) => {
    const before = o.slice(from, to);
    const my = a.slice(ia, toA);
    const their = b.slice(ib, toB);
    if (same(my, their) || same(their, before)) out.push(...my);
    else if (same(my, before)) out.push(...their);
    else {
      conflicts++;
      out.push(...my);
    }
  };
  for (let k = 0; k < o.length; k++) {
    const x = inMine.get(k);
    const y = inTheirs.get(k);
    if (x === undefined || y === undefined) continue;
    settle(i, k, x, y);
    out.push(o[k]!);
    [i, ia, ib] = [k + 1, x + 1, y + 1];
  }
  settle(i, o.length, a.length, b.length);
  return { text: out.join("\n"), conflicts };
}

const lines = (text: string): string[] => text.split("\n");
const same = (a: readonly string[], b: readonly string[]): boolean => a.length === b.length && a.every((line, k) => line === b[k]);

/** Index pairs of a longest common subsequence. */
function common(a: readonly string[], b: readonly string[]): [number, number][] {
  let start = 0;
  while (start < a.length && start < b.length && a[start] === b[start]) start++;
  let [endA, endB] = [a.length, b.length];
  while (endA > start && endB > start && a[endA - 1] === b[endB - 1]) {
    endA--;
    endB--;
  }
  const pairs: [number, number][] = [];
  for (let k = 0; k < start; k++) pairs.push([k, k]);
  pairs.push(...longest(a, b, start, endA, endB));
  for (let k = 0; endA + k < a.length; k++) pairs.push([endA + k, endB + k]);
  return pairs;
}

function longest(a: readonly string[], b: readonly string[], start: number, endA: number, endB: number): [number, number][] {
  const width = endB - start + 1;
  const length = new Uint32Array((endA - start + 1) * width);
  const at = (i: number, j: number) => (i - start) * width + (j - start);
  for (let i = endA - 1; i >= start; i--) {
    for (let j = endB - 1; j >= start; j--) {
      length[at(i, j)] =
        a[i] === b[j] ? length[at(i + 1, j + 1)]! + 1 : Math.max(length[at(i + 1, j)]!, length[at(i, j + 1)]!);
    }
  }
  const pairs: [number, number][] = [];
  let [i, j] = [start, start];
  while (i < endA && j < endB) {
    if (a[i] === b[j]) pairs.push([i++, j++]);
    else if (length[at(i + 1, j)]! >= length[at(i, j + 1)]!) i++;
    else j++;
  }
  return pairs;
}
