import type { Units } from "../api";

export type Paper = "light" | "dark" | "system";

const UNITS = "halfmicron/units";
const PAPER = "halfmicron/paper";

function kept<T extends string>(key: string, known: readonly T[], otherwise: T): T {
  try {
    const found = localStorage.getItem(key) as T | null;
    return found !== null && known.includes(found) ? found : otherwise;
  } catch {
    return otherwise;
  }
}

function keep(key: string, value: string): void {
  try {
    localStorage.setItem(key, value);
  } catch {
    // Without storage the choice lasts as long as the page.
  }
}

/** Units and paper, chosen in one place for the whole page. */
class Settings {
  units = $state<Units>(kept(UNITS, ["si", "us"], "si"));
  paper = $state<Paper>(kept(PAPER, ["light", "dark", "system"], "system"));

  choosePaper(paper: Paper): void {
    this.paper = paper;
    keep(PAPER, paper);
    this.apply();
  }

  chooseUnits(units: Units): void {
    this.units = units;
    keep(UNITS, units);
  }

  apply(): void {
    const root = document.documentElement;
    if (this.paper === "system") delete root.dataset["paper"];
    else root.dataset["paper"] = this.paper;
  }
}

export const settings = new Settings();
