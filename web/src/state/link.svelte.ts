import { api, type About, type Change } from "../api";

/** A change of one file; none where so many came at once that everything is to be looked at again. */
type Listener = (seen: Change | undefined) => void;

/** The line to the server: whether it answers, and what changes in its folder. */
class Link {
  about = $state<About | undefined>();
  up = $state(true);
  #listeners = new Set<Listener>();
  #again = new Set<() => void>();
  #source: EventSource | undefined;

  async start(): Promise<void> {
    this.#watch();
    await this.#introduce();
  }

  onSeen(listener: Listener): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Called when the server answers again after a silence. */
  onAgain(listener: () => void): () => void {
    this.#again.add(listener);
    return () => this.#again.delete(listener);
  }

  lost(): void {
    this.up = false;
  }

  async #introduce(): Promise<void> {
    try {
      this.about = await api.about();
    } catch {
      this.up = false;
    }
  }

  #tell(seen: Change | undefined): void {
    for (const listener of this.#listeners) listener(seen);
  }

  #watch(): void {
    this.#source?.close();
    const source = new EventSource("./api/watch");
    this.#source = source;
    source.addEventListener("change", (event) => this.#tell(JSON.parse((event as MessageEvent<string>).data) as Change));
    source.addEventListener("many", () => this.#tell(undefined));
    source.onopen = () => {
      const wasDown = !this.up;
      this.up = true;
      if (!this.about) void this.#introduce();
      if (wasDown) for (const listener of this.#again) listener();
    };
    source.onerror = () => {
      this.up = false;
      // The browser tries again by itself unless it was turned away for good.
      if (source.readyState === EventSource.CLOSED) setTimeout(() => this.#watch(), 1000);
    };
  }
}

export const link = new Link();
