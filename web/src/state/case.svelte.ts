import { ApiError, api, type CaseError, type CaseFile, type Change, type Chart, type Edit, type PicturesWanted, type ReadCase, type Sheet, type Solved, type Units } from "../api";
import { draftOf, dropDraft, keepDraft } from "../logic/drafts";
import { begin, push, redo, seal, undo, type History } from "../logic/history";
import { Latest } from "../logic/latest";
import { merge } from "../logic/merge";
import { link } from "./link.svelte";
import { settings } from "./settings.svelte";

/** A file as it stood when it was last read or written here. */
export interface Base {
  readonly text: string;
  readonly tag: string;
}

/** An answer of the server with the question that it belongs to. */
export interface Answer {
  readonly text: string;
  readonly units: Units;
  readonly heldText: string | undefined;
  readonly solved: Solved;
}

export interface Held {
  readonly text: string;
  readonly when: string;
  /** Its curves, to be read beside the present ones, and the units that they are in. */
  readonly charts: readonly Chart[];
  readonly units: Units;
}

/** A change of the form that is not in the text yet. */
interface Waiting {
  readonly edit: Edit;
  readonly maker: string;
}

/** An answer that was asked for before the text that it belongs to was there. */
interface Ahead {
  readonly text: string;
  readonly duty: string;
  readonly units: Units;
  readonly heldText: string | undefined;
  readonly solved: Promise<Solved | undefined>;
}

/** Time of quiet before the duties that are not looked at are computed again. */
const QUIET_MS = 120;

/** One case that is open: its text, what it was written over, what the server says of it. */
export class OpenCase {
  readonly name: string;
  loaded = $state(false);
  trouble = $state.raw<ApiError | undefined>();
  history = $state.raw<History>(begin(""));
  base = $state.raw<Base>({ text: "", tag: "" });
  read = $state.raw<Pick<ReadCase, "values" | "duties" | "errors">>({ values: {}, duties: [], errors: [] });
  errors = $state.raw<CaseError[]>([]);
  duty = $state("");
  /** The chosen duty, as soon as it is known; with the pictures. */
  quick = $state.raw<Answer | undefined>();
  /** All duties. */
  full = $state.raw<Answer | undefined>();
  held = $state.raw<Held | undefined>();
  /** A newer file that waits for an answer of the user. */
  outside = $state.raw<Base | undefined>();
  removed = $state(false);
  saving = $state(false);
  computing = $state(false);
  /** Whether unsaved text is kept in the browser. */
  kept = $state(true);
  /** What happened last, for those who listen and for the line under the title. */
  said = $state("");
  /** Size of the pictures, as the drawing has room. */
  room = $state.raw<Omit<PicturesWanted, "duty"> | undefined>();

  #solving = new Latest();
  #asking = new Latest();
  #ahead: Ahead | undefined;
  #reading = new Latest();
  #whole = new Latest();
  #waiting: ReturnType<typeof setTimeout> | undefined;
  /** Changes of the form on their way into the text: the result of the text before them is an older one already. */
  waiting = $state.raw<readonly Waiting[]>([]);
  #writing = false;
  #written: Promise<void> = Promise.resolve();
  #renamed = "";
  /** Text that was read: only of that it is known whether it can be computed. */
  #readText: string | undefined;
  /** Counts undo and redo. */
  rewritten = $state(0);

  constructor(name: string) {
    this.name = name;
    link.onSeen((seen) => void this.#seen(seen));
    link.onAgain(() => void this.#again());
  }

  get text(): string {
    return this.history.present;
  }
  get changed(): boolean {
    return this.text !== this.base.text;
  }
  /** Every column, the chosen one from the newest answer. */
  get sheet(): Sheet | undefined {
    return (this.full ?? this.quick)?.solved.sheet;
  }
  isCurrent(answer: Answer | undefined): boolean {
    return this.waiting.length === 0 && answer?.text === this.text && answer.units === settings.units && answer.heldText === this.held?.text && this.errors.length === 0;
  }

  async open(duty: string): Promise<void> {
    if (duty !== "") this.duty = duty;
    if (this.loaded) return;
    try {
      this.#start(await api.open(this.name));
      this.trouble = undefined;
      this.loaded = true;
      await this.#consider();
    } catch (error) {
      this.#fail(error);
    }
  }

  #start(file: CaseFile): void {
    const draft = draftOf(localStorage, this.#folder, this.name);
    this.history = begin(file.text);
    this.base = { text: file.text, tag: file.tag };
    if (!draft || draft.text === file.text) return;
    if (draft.base.tag !== file.tag) {
      this.base = draft.base;
      this.history = begin(draft.base.text);
      this.outside = { text: file.text, tag: file.tag };
    }
    this.history = push(this.history, draft.text, "");
    this.said = "Unsaved text of last time is back.";
  }

  get #folder(): string {
    return link.about?.folder ?? location.host;
  }

  // Writing

  write(text: string, maker: string, read?: ReadCase): void {
    this.#take(push(this.history, text, maker), read);
  }
  undo(): void {
    this.rewritten++;
    this.#take(undo(this.history));
  }
  redo(): void {
    this.rewritten++;
    this.#take(redo(this.history));
  }
  /** Another name for the chosen duty, which stays chosen. */
  rename(name: string): void {
    const path = `duty.${this.duty}.name`;
    this.#renamed = name;
    void this.edit({ path, value: name }, "");
  }
  /** The next change is a step of its own. */
  seal(): void {
    this.history = seal(this.history);
  }

  #take(history: History, read?: ReadCase): void {
    const before = this.text;
    this.history = history;
    if (this.text === before) return;
    this.#keep();
    void this.#consider(read);
  }

  #keep(): void {
    if (this.changed) this.kept = keepDraft(localStorage, this.#folder, this.name, { text: this.text, base: this.base });
    else dropDraft(localStorage, this.#folder, this.name);
  }

  /** Changes of the form, written into the text by the server so that comments stay. */
  async edit(edit: Edit, maker = edit.path): Promise<void> {
    this.waiting = [...this.waiting.filter((other) => other.edit.path !== edit.path || edit.copy != null), { edit, maker }];
    await this.#writeWaiting();
  }

  #writeWaiting(): Promise<void> {
    if (!this.#writing) this.#written = this.#writeEdits();
    return this.#written;
  }

  async #writeEdits(): Promise<void> {
    this.#writing = true;
    try {
      while (this.waiting.length > 0) {
        const edits = this.waiting;
        const before = this.text;
        const asked = edits.map((waiting) => waiting.edit);
        const ahead = this.#solveAhead(before, asked);
        const answer = await api.edit(before, asked);
        this.#drop(edits);
        if (this.text !== before) continue; // Undone or replaced meanwhile: that was said later.
        this.#ahead = ahead && { ...ahead, text: answer.text };
        this.write(answer.text, edits.length === 1 ? edits[0]!.maker : "", answer);
      }
    } catch (error) {
      // A server that is away comes back: what was typed meanwhile is written then.
      if (!(error instanceof ApiError && error.silent)) this.waiting = [];
      this.#fail(error);
    } finally {
      this.#writing = false;
    }
  }

  #drop(edits: readonly Waiting[]): void {
    this.waiting = this.waiting.filter((other) => !edits.includes(other));
  }

  // Computing

  /** The chosen duty with values that are still on their way into the text, so that both are waited for at once. */
  #solveAhead(text: string, edits: readonly Edit[]): Omit<Ahead, "text"> | undefined {
    const plain = edits.every((edit) => edit.copy == null && edit.value != null && !edit.path.endsWith(".name"));
    if (!plain || this.duty === "" || this.errors.length > 0) return undefined;
    const question = this.#asking.ask();
    const request = { ...this.#question(text, [this.duty], true), set: Object.fromEntries(edits.map(({ path, value }) => [path, value!])) };
    const solved = api.solve(request, question.signal).catch(() => undefined);
    return { duty: this.duty, units: request.units, heldText: request.held?.text, solved };
  }

  choose(duty: string): void {
    if (duty === this.duty) return;
    this.duty = duty;
    void this.#quickly();
  }

  /** Something that the answer depends on changed: units, held result, size of the drawing. */
  again(): void {
    if (!this.loaded) return;
    void this.#quickly();
    if (!this.full || !this.isCurrent(this.full)) this.#wholeSoon();
  }

  hold(): void {
    const when = new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    const charts = [this.quick, this.full].flatMap((answer) => (answer && this.isCurrent(answer) ? (answer.solved.sheet.charts ?? []) : []));
    this.held = { text: this.text, when, charts, units: settings.units };
    this.again();
  }
  release(): void {
    this.held = undefined;
    this.again();
  }

  /** The text is another: what it says, and if it can be used, what comes of it. */
  async #consider(known?: ReadCase): Promise<void> {
    this.#giveUp();
    if (known) {
      this.#reading.drop();
      this.#takeRead(known);
    } else {
      await this.#read();
    }
    if (this.errors.length === 0) await this.#quickly();
    else this.#giveUp();
  }

  #giveUp(): void {
    clearTimeout(this.#waiting);
    this.#solving.drop();
    this.#whole.drop();
    this.computing = false;
  }

  #takeRead(read: ReadCase): void {
    this.#readText = this.text;
    this.read = read;
    this.errors = read.errors;
    if (read.duties.includes(this.duty) || read.duties.length === 0) return;
    this.duty = read.duties.includes(this.#renamed) ? this.#renamed : likely(read.duties);
  }

  async #read(): Promise<void> {
    const question = this.#reading.ask();
    try {
      const read = await api.read(this.text, question.signal);
      if (!question.current()) return;
      this.#takeRead(read);
    } catch (error) {
      if (question.current()) this.#fail(error);
    }
  }

  async #quickly(): Promise<void> {
    clearTimeout(this.#waiting);
    this.#whole.drop();
    if (this.duty === "" || this.errors.length > 0 || this.#readText !== this.text) return;
    this.computing = true;
    const question = this.#solving.ask();
    const ahead = this.#ahead;
    this.#ahead = undefined;
    const fits = ahead?.text === this.text && ahead.duty === this.duty && ahead.units === settings.units && ahead.heldText === this.held?.text;
    const { text } = this;
    const solved = fits ? await ahead.solved : undefined;
    if (!question.current()) return;
    const answer = solved ? { text, units: ahead!.units, heldText: ahead!.heldText, solved } : await this.#solve([this.duty], question.signal, question.current, true);
    if (!answer || !question.current()) return;
    if (solved) this.trouble = undefined;
    this.quick = answer;
    this.computing = false;
    if (!this.isCurrent(this.full)) this.#wholeSoon();
  }

  #wholeSoon(): void {
    clearTimeout(this.#waiting);
    this.#waiting = setTimeout(() => void this.#wholly(), this.full ? QUIET_MS : 0);
  }

  async #wholly(): Promise<void> {
    if (this.#readText !== this.text) return;
    this.computing = true;
    const question = this.#whole.ask();
    const answer = await this.#solve([], question.signal, question.current, false);
    if (!answer || !question.current()) return;
    this.full = answer;
    this.computing = false;
  }

  #question(text: string, duties: string[], pictures: boolean) {
    const { held } = this;
    // What is looked at comes at once; what takes longer, ranges and verdicts, with the other duties.
    const depth = pictures ? ("quick" as const) : ("complete" as const);
    const wanted = pictures && this.room ? { pictures: { ...this.room, duty: this.duty } } : {};
    return { text, duties, units: settings.units, depth, ...wanted, ...(held && { held: { text: held.text } }) };
  }

  async #solve(duties: string[], signal: AbortSignal, current: () => boolean, pictures: boolean): Promise<Answer | undefined> {
    const question = this.#question(this.text, duties, pictures);
    try {
      const solved = await api.solve(question, signal);
      if (!current()) return undefined;
      this.trouble = undefined;
      return { text: question.text, units: question.units, heldText: question.held?.text, solved };
    } catch (error) {
      if (current()) this.#fail(error);
      return undefined;
    }
  }

  #fail(error: unknown): void {
    this.computing = false;
    if (!(error instanceof ApiError)) {
      if (!(error instanceof DOMException && error.name === "AbortError")) throw error;
      return;
    }
    if (error.silent) link.lost();
    if (error.caseErrors.length > 0) this.errors = error.caseErrors;
    else if (!error.silent) this.trouble = error;
  }

  // Files

  async save(): Promise<void> {
    if (this.saving) return;
    this.saving = true;
    await this.#writeWaiting();
    if (this.waiting.length > 0) {
      this.saving = false;
      return;
    }
    this.seal();
    const { text, base, removed } = this;
    try {
      const file = removed ? await api.saveNew(this.name, text) : await api.save(this.name, text, base.tag);
      this.base = { text, tag: file.tag };
      this.removed = false;
      this.outside = undefined;
      this.trouble = undefined;
      this.#keep();
      this.said = "Saved.";
    } catch (error) {
      if (error instanceof ApiError && error.status === 412) await this.#meet(error.present);
      else this.#fail(error);
    } finally {
      this.saving = false;
    }
  }

  keepMine(): void {
    if (!this.outside) return;
    this.base = this.outside;
    this.outside = undefined;
    this.#keep();
    this.said = "Yours stands here; Save writes it over the file.";
  }
  takeTheirs(): void {
    if (!this.outside) return;
    this.base = this.outside;
    this.outside = undefined;
    this.write(this.base.text, "");
    this.#keep();
    this.said = "The file's text is taken over. Undo brings yours back.";
  }
  get joined(): { text: string; conflicts: number } | undefined {
    return this.outside && merge(this.base.text, this.text, this.outside.text);
  }
  join(): void {
    const { joined, outside } = this;
    if (!joined || !outside) return;
    this.base = outside;
    this.outside = undefined;
    this.write(joined.text, "");
    this.#keep();
    this.said = "Both changes are joined.";
  }

  async #seen(seen: Change | undefined): Promise<void> {
    if (!this.loaded || (seen && seen.name !== this.name)) return;
    if (seen?.what === "removed") {
      this.removed = true;
      this.said = "The file was removed outside. Save makes it again.";
      return;
    }
    if (!this.saving && seen?.tag !== this.base.tag) await this.#meet(undefined);
  }

  /** The file is not what was written over here: taken over if nothing would be lost, else asked. */
  async #meet(known: CaseFile | undefined): Promise<void> {
    try {
      const file = known ?? (await api.open(this.name));
      this.removed = false;
      if (file.tag === this.base.tag) return;
      const theirs = { text: file.text, tag: file.tag };
      if (this.text === file.text || !this.changed) {
        const before = this.text;
        this.base = theirs;
        this.outside = undefined;
        this.write(theirs.text, "");
        this.#keep();
        if (before !== theirs.text) this.said = "The file changed outside and was taken over. Undo brings the text before it back.";
      } else {
        this.outside = theirs;
        this.said = "The file changed outside while it was changed here.";
      }
    } catch (error) {
      if (error instanceof ApiError && error.status === 404) this.removed = true;
      else this.#fail(error);
    }
  }

  async #again(): Promise<void> {
    if (!this.loaded) return;
    await this.#writeWaiting();
    await this.#meet(undefined);
    this.again();
  }
}

/** The duty that a reader most likely wants first. */
function likely(duties: readonly string[]): string {
  return duties.find((duty) => duty === "normal") ?? duties[0] ?? "";
}

const opened = new Map<string, OpenCase>();

/** The same case keeps its undo while other places are visited. */
export function openCase(name: string): OpenCase {
  const known = opened.get(name);
  if (known) return known;
  const made = new OpenCase(name);
  opened.set(name, made);
  return made;
}
