import { hashOf, routeOf, type Route } from "../logic/route";

const LAST = "halfmicron/last-case";

/** Where the reader is; follows the address. */
class Place {
  route = $state<Route>(routeOf(location.hash));
  /** The case last opened, so that Sheet and Report lead somewhere. */
  last = $state(lastCase());

  constructor() {
    addEventListener("hashchange", () => this.#follow());
    this.#follow();
  }

  go(route: Route): void {
    location.hash = hashOf(route);
  }

  /** Same place, other address: no step in the browser's history. */
  replace(route: Route): void {
    history.replaceState(null, "", hashOf(route));
    this.route = route;
  }

  #follow(): void {
    this.route = routeOf(location.hash);
    const { route } = this;
    if (route.place === "sheet" || route.place === "film" || route.place === "report") {
      this.last = route.name;
      try {
        localStorage.setItem(LAST, route.name);
      } catch {
        // Known until the page is left.
      }
    }
  }
}

function lastCase(): string {
  try {
    return localStorage.getItem(LAST) ?? "";
  } catch {
    return "";
  }
}

export const place = new Place();
