import type { Cell, Column, Row, Sheet, Solved } from "../api";

export interface TableView {
  /** Columns and rows as shown. */
  readonly sheet: Sheet;
  readonly cellOf: (row: Row, column: number) => Cell;
  readonly changeOf: (key: string, column: number) => string;
}

const MISSING: Cell = { text: "-", worst: false };

/** All duties of the full answer, with the chosen duty from the quick answer where that is newer. */
export function chosenColumns(full: Solved | undefined, quick: Solved | undefined, duties: readonly string[] = []): TableView | undefined {
  const whole = full ?? (quick && spread(quick, duties));
  if (!whole) return undefined;
  const newer = quick && full && quick !== full && quick.tag !== full.tag ? quick : undefined;
  const name = newer?.sheet.columns[0]?.name;
  const place = whole.sheet.columns.findIndex((column) => column.name === name);
  if (!newer || place < 0) {
    return {
      sheet: whole.sheet,
      cellOf: (row, column) => row.cells[column] ?? MISSING,
      changeOf: (key, column) => whole.changes?.[key]?.[column] ?? "",
    };
  }
  const rows = new Map([...newer.sheet.blocks, newer.sheet.hand].flatMap((block) => block.rows).map((row) => [row.key, row]));
  const judged = (column: Column): Column => (newer.complete ? newer.sheet.columns[0]! : { ...newer.sheet.columns[0]!, worst: column.worst ?? null });
  const columns = whole.sheet.columns.map((column, index) => (index === place ? judged(column) : column));
  // "Worst" compares duties: of one newer duty alone nobody knows.
  const cellOf = (row: Row, column: number): Cell => {
    if (row.key === "verdict" && !newer.complete) return row.cells[column] ?? MISSING;
    const own = column === place ? rows.get(row.key)?.cells[0] : undefined;
    return own ? { text: own.text, worst: false } : column === place ? MISSING : (row.cells[column] ?? MISSING);
  };
  const changeOf = (key: string, column: number) => (column === place ? newer.changes?.[key]?.[0] : whole.changes?.[key]?.[column]) ?? "";
  return { sheet: { ...whole.sheet, columns }, cellOf, changeOf };
}

/** One duty's answer with empty columns for the duties that are still being computed. */
function spread(quick: Solved, duties: readonly string[]): Solved {
  const { sheet } = quick;
  const place = duties.indexOf(sheet.columns[0]?.name ?? "");
  if (place < 0) return quick;
  const columns = duties.map((name, k) => (k === place ? sheet.columns[0]! : { name, status: "", solved: false, reason: "", worst: null }));
  const wide = (row: Row): Row => ({ ...row, cells: duties.map((_, k) => (k === place ? (row.cells[0] ?? MISSING) : MISSING)) });
  const blocks = sheet.blocks.map((block) => ({ ...block, rows: block.rows.map(wide) }));
  const changes = Object.entries(quick.changes ?? {}).map(([key, texts]) => [key, duties.map((_, k) => (k === place ? (texts[0] ?? "") : ""))]);
  return { ...quick, changes: Object.fromEntries(changes), sheet: { ...sheet, columns, blocks, hand: { ...sheet.hand, rows: sheet.hand.rows.map(wide) } } };
}

/** The duties as tab-separated text that a spreadsheet takes. */
export function asTable(sheet: Sheet): string {
  const clean = (text: string) => text.replace(/[\t\n]+/g, " ").trim();
  const line = (cells: string[]) => cells.map(clean).join("\t");
  const head = line([sheet.title, "unit", ...sheet.columns.map((column) => column.name)]);
  const rows = [...sheet.blocks, sheet.hand].flatMap((block) => [
    clean(block.title),
    ...block.rows.map((row) => line([row.label, row.unit, ...row.cells.map((cell) => cell.text)])),
  ]);
  return `${[head, ...rows].join("\n")}\n`;
}
