/** Undo and redo over the whole text of a case: form and text view share it. */
export interface History {
  readonly past: readonly string[];
  readonly present: string;
  readonly future: readonly string[];
  /** What made the present: changes by the same maker in a row are one step. */
  readonly maker: string;
}

const MOST_STEPS = 400;

export function begin(text: string): History {
  return { past: [], present: text, future: [], maker: "" };
}

/** The text changed. An empty maker never joins the step before. */
export function push(history: History, text: string, maker: string): History {
  if (text === history.present) return history;
  const joins = maker !== "" && maker === history.maker && history.past.length > 0;
  const past = joins ? history.past : [...history.past, history.present].slice(-MOST_STEPS);
  return { past, present: text, future: [], maker };
}

/** What comes next is a step of its own: a field was left, typing paused. */
export function seal(history: History): History {
  return history.maker === "" ? history : { ...history, maker: "" };
}

export function undo(history: History): History {
  const text = history.past.at(-1);
  if (text === undefined) return history;
  return { past: history.past.slice(0, -1), present: text, future: [history.present, ...history.future], maker: "" };
}

export function redo(history: History): History {
  const [text, ...future] = history.future;
  if (text === undefined) return history;
  return { past: [...history.past, history.present], present: text, future, maker: "" };
}
