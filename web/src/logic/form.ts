import type { CaseError, Key } from "../api";

/** One line of the form. */
export interface FormRow {
  readonly path: string;
  readonly label: string;
  /** Table below the section that it belongs to, such as the secondary seal; empty for its own lines. */
  readonly group: string;
  readonly key: Key;
  readonly value: string | undefined;
}

/** A table of the case with its lines; lists and tables below it are lines of their own with longer labels. */
export interface FormSection {
  readonly title: string;
  readonly path: string;
  readonly stated: readonly FormRow[];
  readonly possible: readonly FormRow[];
  /** Lists below: path of their last entry, and what an entry is called. Entries are added in the text. */
  readonly lists: readonly { readonly label: string; readonly last: string }[];
}

const words = (name: string) => name.replaceAll("_", " ");
const DUTY = "duty";
const SINGULAR: Record<string, string> = { section: "piece", parts: "part", edges: "edge", waves: "wave", viscosity: "viscosity", vapour_pressure: "vapour pressure" };

/** The case by nouns: machine, fluid, the chosen duty, seal, rings, and whatever else it has or may have. */
export function sections(keys: readonly Key[], values: Readonly<Record<string, string>>, duty: string): { stated: FormSection[]; absent: FormSection[] } {
  const stated: FormSection[] = [];
  const absent: FormSection[] = [];
  const top = keys.filter((key) => key.keys.length === 0 && !isUnused(key));
  if (top.length > 0) stated.push(section("case", "", top, values));
  for (const key of keys.filter((key) => key.keys.length > 0)) {
    if (key.path === DUTY) {
      if (duty !== "") stated.push(section(`duty: ${duty}`, `${DUTY}.${duty}`, key.keys, values));
      continue;
    }
    for (const { title, path } of places(key, values)) {
      const made = section(title, path, key.keys, values);
      (made.stated.length > 0 ? stated : absent).push(made);
    }
  }
  return { stated, absent };
}

/** Where a table of the case stands: once, or once for each name of a list of named ones. */
function places(key: Key, values: Readonly<Record<string, string>>): { title: string; path: string }[] {
  if (!isNamed(key)) return [{ title: words(nameOf(key)), path: key.path }];
  const names = new Set(below(values, key.path).map((rest) => rest.split(".")[0]!));
  return [...names].map((name) => ({ title: `${words(nameOf(key))}: ${name}`, path: `${key.path}.${name}` }));
}

function section(title: string, path: string, keys: readonly Key[], values: Readonly<Record<string, string>>): FormSection {
  const rows: FormRow[] = [];
  const lists: { label: string; last: string }[] = [];
  const walk = (keys: readonly Key[], at: string, label: string, mayBeAdded: boolean) => {
    for (const key of keys) {
      const name = nameOf(key);
      const here = at === "" ? name : `${at}.${name}`;
            if (isUnused(key) && !(here in values)) continue;
      if (key.keys.length === 0 || here in values) {
        if (here in values || mayBeAdded) rows.push({ path: here, label: words(name), group: label, key, value: values[here] });
      } else if (isList(key)) {
        const count = 1 + Math.max(-1, ...below(values, here).map((rest) => Number(rest.split(".")[0])).filter(Number.isInteger));
        const one = SINGULAR[name] ?? words(name);
        for (let k = 0; k < count; k++) walk(key.keys, `${here}.${k}`, count > 1 ? `${one} ${k + 1}` : one, true);
        if (count > 0) lists.push({ label: one, last: `${here}.${count - 1}` });
      } else {
        walk(key.keys, here, label === "" ? words(name) : `${label}, ${words(name)}`, mayBeAdded);
      }
    }
  };
  walk(keys, path, "", true);
  return { title, path, stated: rows.filter((row) => row.value !== undefined), possible: rows.filter((row) => row.value === undefined), lists };
}

function below(values: Readonly<Record<string, string>>, path: string): string[] {
  const start = `${path}.`;
  return Object.keys(values).filter((known) => known.startsWith(start)).map((known) => known.slice(start.length));
}

const nameOf = (key: Key) => key.name;
const isList = (key: Key) => key.kind === "list";
const isNamed = (key: Key) => key.kind === "named";
const isUnused = (key: Key) => key.kind === "later" || key.path === "halfmicron";

/** What is wrong and what to do, without the path that the place says already and without telling a range twice. */
export function fault(error: CaseError): { message: string; help: string } {
  const start = `\`${error.path}\`: `;
  const message = error.message.startsWith(start) ? error.message.slice(start.length) : error.message;
  const range = error.range && !message.includes(error.range) && !error.hint.includes(error.range) ? `Allowed: ${error.range}. ` : "";
  return { message, help: `${range}${error.hint}` };
}

/** Errors that belong to a path: its own, and those below a value that is one line of the form. */
export const errorsAt = (errors: readonly CaseError[], path: string): CaseError[] =>
  errors.filter((error) => error.path === path || error.path.startsWith(`${path}.`));

/** Errors that no line of the form shows. */
export const errorsElsewhere = (errors: readonly CaseError[], shown: readonly string[]): CaseError[] =>
  errors.filter((error) => !shown.some((path) => error.path === path || error.path.startsWith(`${path}.`)));
