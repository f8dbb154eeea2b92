/** Only the newest question may be answered: an answer to an older one is dropped, and its request given up. */
export class Latest {
  #count = 0;
  #controller: AbortController | undefined;

  /** A new question. Earlier ones are stale from here on. */
  ask(): { signal: AbortSignal; current: () => boolean } {
    this.#controller?.abort();
    this.#controller = new AbortController();
    const mine = ++this.#count;
    return { signal: this.#controller.signal, current: () => mine === this.#count };
  }

  /** No question any more. */
  drop(): void {
    this.#controller?.abort();
    this.#controller = undefined;
    this.#count++;
  }
}
