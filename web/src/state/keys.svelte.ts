import { api, type Key } from "../api";

/** The table of keys: asked for once. */
class Keys {
  all = $state.raw<Key[]>([]);
  #asked: Promise<void> | undefined;

  load(): Promise<void> {
    this.#asked ??= api.keys().then(
      (keys) => void (this.all = keys),
      () => void (this.#asked = undefined),
    );
    return this.#asked;
  }
}

export const keys = new Keys();
