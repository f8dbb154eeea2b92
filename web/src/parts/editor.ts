/** The text view: loaded when it is first wanted. */
import { defaultKeymap, indentWithTab } from "@codemirror/commands";
import { HighlightStyle, StreamLanguage, syntaxHighlighting } from "@codemirror/language";
import { toml } from "@codemirror/legacy-modes/mode/toml";
import { setDiagnostics, type Diagnostic } from "@codemirror/lint";
import { Annotation, EditorState } from "@codemirror/state";
import { drawSelection, EditorView, highlightActiveLine, keymap, lineNumbers } from "@codemirror/view";
import { tags } from "@lezer/highlight";

import type { CaseError } from "../api";

const fromOutside = Annotation.define<boolean>();

const look = EditorView.theme({
  "&": { color: "var(--ink)", backgroundColor: "var(--paper)", fontSize: "12px" },
  "&.cm-focused": { outline: "2px solid var(--ink)", outlineOffset: "0" },
  ".cm-content": { fontFamily: "ui-monospace, 'DejaVu Sans Mono', 'Liberation Mono', monospace", lineHeight: "18px", caretColor: "var(--ink)" },
  ".cm-cursor": { borderLeftColor: "var(--ink)" },
  ".cm-gutters": { backgroundColor: "var(--paper)", color: "var(--soft)", border: "0" },
  ".cm-activeLine, .cm-activeLineGutter": { backgroundColor: "var(--wash)" },
  "&.cm-focused > .cm-scroller > .cm-selectionLayer .cm-selectionBackground, .cm-selectionBackground": { backgroundColor: "var(--rule)" },
  ".cm-lintRange-error": { backgroundImage: "none", textDecoration: "underline wavy var(--heat) 1.5px", textUnderlineOffset: "3px" },
  ".cm-tooltip": { backgroundColor: "var(--paper)", color: "var(--ink)", border: "1px solid var(--ink)" },
  ".cm-diagnostic": { fontFamily: "system-ui, sans-serif", fontSize: "12px", lineHeight: "16px", borderLeft: "0", padding: "4px 8px", maxWidth: "420px" },
});

const ink = HighlightStyle.define([
  { tag: tags.comment, color: "var(--soft)", fontStyle: "italic" },
  { tag: tags.string, color: "var(--sealed)" },
  { tag: [tags.number, tags.atom, tags.bool], color: "var(--low)" },
  { tag: [tags.propertyName, tags.atom], color: "var(--ink)" },
]);

export interface Editor {
  show(text: string): void;
  mark(errors: readonly CaseError[]): void;
  goto(error: CaseError): void;
  focus(): void;
  destroy(): void;
}

/** An editor inside a shadow root: there its styles are adopted sheets, which a strict policy allows. */
export function editor(host: HTMLElement, text: string, onchange: (text: string) => void, keys: { undo: () => void; redo: () => void; save: () => void }): Editor {
  const root = host.shadowRoot ?? host.attachShadow({ mode: "open" });
  const run = (act: () => void) => () => (act(), true);
  const view = new EditorView({
    root,
    parent: root,
    state: EditorState.create({
      doc: text,
      extensions: [
        lineNumbers(),
        highlightActiveLine(),
        drawSelection(),
        EditorView.lineWrapping,
        // What stands below the text over the lower edge of the window must not cover the caret.
        EditorView.scrollMargins.of(() => ({ bottom: 90 })),
        EditorView.contentAttributes.of({ "aria-label": "Case as text", spellcheck: "false", autocapitalize: "off" }),
        StreamLanguage.define(toml),
        syntaxHighlighting(ink),
        look,
        keymap.of([
          { key: "Mod-z", run: run(keys.undo), preventDefault: true },
          { key: "Mod-y", mac: "Mod-Shift-z", run: run(keys.redo), preventDefault: true },
          { key: "Mod-Shift-z", run: run(keys.redo), preventDefault: true },
          { key: "Mod-s", run: run(keys.save), preventDefault: true },
          { key: "Escape", run: run(() => (root.activeElement as HTMLElement | null)?.blur()) },
          ...defaultKeymap,
          indentWithTab,
        ]),
        EditorView.updateListener.of((update) => {
          if (update.docChanged && !update.transactions.some((change) => change.annotation(fromOutside))) onchange(update.state.doc.toString());
        }),
      ],
    }),
  });
  return {
    show(next) {
      const now = view.state.doc.toString();
      if (now === next) return;
      let start = 0;
      while (start < now.length && start < next.length && now[start] === next[start]) start++;
      let end = 0;
      while (end < now.length - start && end < next.length - start && now.at(-1 - end) === next.at(-1 - end)) end++;
      view.dispatch({ changes: { from: start, to: now.length - end, insert: next.slice(start, next.length - end) }, annotations: fromOutside.of(true) });
    },
    mark(errors) {
      view.dispatch(setDiagnostics(view.state, errors.map((error) => diagnostic(view.state, error))));
    },
    goto(error) {
      const at = Math.min(error.from ?? 0, view.state.doc.length);
      view.dispatch({ selection: { anchor: at }, effects: EditorView.scrollIntoView(at, { y: "center" }) });
      view.focus();
    },
    focus: () => view.focus(),
    destroy: () => view.destroy(),
  };
}

function diagnostic(state: EditorState, error: CaseError): Diagnostic {
  const end = state.doc.length;
  const from = Math.min(error.from ?? 0, end);
  const to = Math.min(Math.max(error.to ?? from, from), end);
  // What is missing has no length: the sign before it is underlined.
  const message = [error.message, error.range && `Allowed: ${error.range}.`, error.hint].filter(Boolean).join(" ");
  return { from: from === to ? Math.max(0, from - 1) : from, to, severity: "error", message };
}
