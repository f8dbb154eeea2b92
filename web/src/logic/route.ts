/** Places of the page and their addresses. */
export type Route =
  | { place: "folder" }
  | { place: "compare"; first: string; second: string }
  | { place: "sheet"; name: string; duty: string }
  | { place: "film"; name: string; duty: string }
  | { place: "report"; name: string }
  | { place: "proof" };

export function routeOf(hash: string): Route {
  const [place, ...rest] = hash.replace(/^#?\/?/, "").split("/").map(decoded);
  const [first = "", second = ""] = rest;
  if (place === "sheet" && first !== "") return { place: "sheet", name: first, duty: second };
  if (place === "film" && first !== "") return { place: "film", name: first, duty: second };
  if (place === "report" && first !== "") return { place: "report", name: first };
  if (place === "compare" && first !== "" && second !== "") return { place: "compare", first, second };
  if (place === "proof") return { place: "proof" };
  return { place: "folder" };
}

export function hashOf(route: Route): string {
  const parts: string[] =
    route.place === "folder"
      ? []
      : route.place === "compare"
        ? ["compare", route.first, route.second]
        : route.place === "sheet" || route.place === "film"
          ? [route.place, route.name, ...(route.duty === "" ? [] : [route.duty])]
          : route.place === "report"
            ? ["report", route.name]
            : ["proof"];
  return `#/${parts.map(encodeURIComponent).join("/")}`;
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
