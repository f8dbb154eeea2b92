/** Unsaved text survives reload and restart of the server: one draft per folder and case in the browser's storage. */
export interface Draft {
  readonly text: string;
  /** The file that it was written over. */
  readonly base: { readonly text: string; readonly tag: string };
}

type Store = Pick<Storage, "getItem" | "setItem" | "removeItem">;

const place = (folder: string, name: string) => `halfmicron/draft/${folder}/${name}`;

export function keepDraft(store: Store, folder: string, name: string, draft: Draft): boolean {
  try {
    store.setItem(place(folder, name), JSON.stringify(draft));
    return true;
  } catch {
    return false; // Storage is full or forbidden: the caller says that nothing is kept.
  }
}

export function draftOf(store: Store, folder: string, name: string): Draft | undefined {
  try {
    const found: unknown = JSON.parse(store.getItem(place(folder, name)) ?? "null");
    return isDraft(found) ? found : undefined;
  } catch {
    return undefined;
  }
}

export function dropDraft(store: Store, folder: string, name: string): void {
  try {
    store.removeItem(place(folder, name));
  } catch {
    // Nothing was kept there.
  }
}

function isDraft(value: unknown): value is Draft {
  const draft = value as Draft | null;
  return typeof draft?.text === "string" && typeof draft.base?.text === "string" && typeof draft.base.tag === "string";
}
