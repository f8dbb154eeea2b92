/** Texts of values as the file has them, taken apart and put together for the eye only. */

/** `11 bar(g)`: number and unit; none where the text is not a number with at most one unit. */
export function quantityParts(text: string): { number: string; unit: string } | undefined {
  const found = /^\s*([+-]?(?:\d[\d ]*\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([^\d\s].*)?$/.exec(text);
  return found ? { number: found[1]!.trim(), unit: (found[2] ?? "").trim() } : undefined;
}

/** The text with the last digit of its number moved by `steps`. */
export function stepped(text: string, steps: number): string | undefined {
  const parts = quantityParts(text);
  if (!parts || /[eE]/.test(parts.number)) return undefined;
  const plain = parts.number.replaceAll(" ", "");
  const decimals = plain.includes(".") ? plain.length - plain.indexOf(".") - 1 : 0;
  const number = (Number(plain) + steps * 10 ** -decimals).toFixed(decimals);
  return parts.unit ? `${number} ${parts.unit}` : number;
}

/** `["24.45 mm", "30.8 mm"]` as `24.45 mm to 30.8 mm`; any other text as it is. */
export function spanShown(written: string): string {
  const found = /^\[\s*(['"])(.*?)\1\s*,\s*(['"])(.*?)\3\s*,?\s*\]$/.exec(written.trim());
  return found ? `${found[2]} to ${found[4]}` : written;
}

/** The other way round. */
export function spanWritten(shown: string): string {
  if (shown.trim().startsWith("[")) return shown.trim();
  const ends = shown.split(/\s+to\s+|\s*,\s*/).map((end) => end.trim());
  return ends.length === 2 && ends.every((end) => end !== "") ? `["${ends[0]}", "${ends[1]}"]` : shown.trim();
}

/** `{ value = "14 N", hand = true }` as `14 N, by hand`: a value put in place of a correlation. Any other text as it is. */
export function handShown(written: string): string {
  const found = /^\{\s*value\s*=\s*(['"]?)(.*?)\1\s*,\s*hand\s*=\s*true\s*,?\s*\}$/.exec(written.trim());
  return found ? `${found[2]}, by hand` : written;
}

/** The other way round. */
export function handWritten(shown: string): string {
  const found = /^(.*\S)\s*,\s*by hand$/.exec(shown.trim());
  if (!found) return shown.trim();
  const value = found[1]!;
  // A number without a unit stands without quotes.
  return `{ value = ${quantityParts(value)?.unit === "" ? value : `"${value}"`}, hand = true }`;
}

/** A cell of the sheet: `at least 0.2 (0.08 to 0.6)`. */
export interface CellParts {
  readonly bound: string;
  readonly main: string;
  readonly range: string;
}

export function cellParts(text: string): CellParts {
  const found = /^(at least |at most |below |above )?(.*?)(?: \((.*) to (.*)\))?$/.exec(text);
  if (!found) return { bound: "", main: text, range: "" };
  const range = found[3] === undefined ? "" : `${minus(found[3])} – ${minus(found[4]!)}`;
  return { bound: (found[1] ?? "").trim(), main: minus(found[2]!), range };
}

/** A true minus sign before a number. */
export const minus = (text: string): string => text.replace(/(^|[\s(])-(?=[\d.])/g, "$1−");

/** Units and signs as they are typeset: the sheet writes them in letters that every terminal has. */
export function typeset(text: string): string {
  return minus(text)
    .replace(/\b(u)(m|in|Pa s)\b/g, "µ$2")
    .replace(/\bdeg([CF])\b/g, "°$1")
    .replace(/\b([cmk]?m|in|ft)([23])\b/g, (_, unit: string, power: string) => unit + (power === "2" ? "²" : "³"));
}

/** `face_runout` as words. */
export const words = (name: string): string => name.replaceAll("_", " ");

/** Three significant digits for a reading that follows the pointer. */
export function reading(value: number | null): string {
  if (value === null || !Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const size = Math.floor(Math.log10(Math.abs(value)));
  return minus(size < -4 || size > 6 ? value.toExponential(2) : value.toFixed(Math.max(0, 2 - size)));
}
