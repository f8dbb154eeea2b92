import { describe, expect, it } from "vitest";

import { draftOf, dropDraft, keepDraft } from "./drafts";
import { fault } from "./form";
import { begin, push, redo, seal, undo } from "./history";
import { Latest } from "./latest";
import { difference, merge } from "./merge";
import { heightOf, radiusAt, valueAt, within } from "./radius";
import { hashOf, routeOf, type Route } from "./route";
import { cellParts, handShown, handWritten, quantityParts, reading, spanShown, spanWritten, stepped, typeset } from "./value";

describe("history", () => {
  it("undoes and redoes every step to the ends and no further", () => {
    let history = begin("a");
    history = push(history, "ab", "");
    history = push(history, "abc", "");
    history = undo(undo(undo(history)));
    expect(history.present).toBe("a");
    history = redo(redo(redo(history)));
    expect(history.present).toBe("abc");
  });

  it("joins what one field made until it is left", () => {
    let history = push(push(begin("1"), "12", "speed"), "123", "speed");
    expect(undo(history).present).toBe("1");
    history = push(seal(history), "1234", "speed");
    expect(undo(history).present).toBe("123");
    history = push(history, "12345", "pressure");
    expect(undo(history).present).toBe("1234");
  });

  it("does not join a change after an undo with the one before it", () => {
    const undone = undo(push(push(begin("a"), "b", ""), "c", "x"));
    expect(undo(push(undone, "d", "x")).present).toBe("b");
  });

  it("forgets the future when something new is written, and nothing for the same text", () => {
    const undone = undo(push(begin("a"), "b", ""));
    expect(push(undone, "a", "").future).toEqual(["b"]);
    expect(push(undone, "c", "").future).toEqual([]);
  });
});

describe("merge", () => {
  const base = "one\ntwo\nthree\nfour\nfive";

  it("joins changes of different lines", () => {
    const merged = merge(base, "ONE\ntwo\nthree\nfour\nfive", "one\ntwo\nthree\nfour\nFIVE\nsix");
    expect(merged).toEqual({ text: "ONE\ntwo\nthree\nfour\nFIVE\nsix", conflicts: 0 });
  });

  it("counts a line that both changed and keeps mine", () => {
    const merged = merge(base, "one\nmine\nthree\nfour\nfive", "one\ntheirs\nthree\nfour\nfive");
    expect(merged).toEqual({ text: "one\nmine\nthree\nfour\nfive", conflicts: 1 });
  });

  it("takes the same change once, and a removal", () => {
    expect(merge(base, "one\nthree\nfour\nfive", "one\nthree\nfour\nfive")).toEqual({ text: "one\nthree\nfour\nfive", conflicts: 0 });
    expect(merge(base, base, "one\ntwo\nfive")).toEqual({ text: "one\ntwo\nfive", conflicts: 0 });
  });

  it("gives either side whole where the other did not change", () => {
    expect(merge(base, "x", base).text).toBe("x");
    expect(merge(base, base, "y").text).toBe("y");
  });

  it("shows what two texts share and do not", () => {
    const shown = difference("a\nb\nc", "a\nx\nc\nd").map((line) => `${line.side}:${line.text}`);
    expect(shown).toEqual(["both:a", "first:b", "second:x", "both:c", "second:d"]);
  });

  it("rebuilds both texts from their difference", () => {
    const [first, second] = ["p\nq\nr\ns\nq", "q\nr\nt\nq\nu"];
    const of = (side: "first" | "second") =>
      difference(first, second)
        .filter((line) => line.side === "both" || line.side === side)
        .map((line) => line.text)
        .join("\n");
    expect(of("first")).toBe(first);
    expect(of("second")).toBe(second);
  });
});

describe("stale answers", () => {
  it("knows the newest question alone and gives up the older", () => {
    const latest = new Latest();
    const first = latest.ask();
    expect(first.current()).toBe(true);
    const second = latest.ask();
    expect([first.current(), first.signal.aborted]).toEqual([false, true]);
    expect([second.current(), second.signal.aborted]).toEqual([true, false]);
    latest.drop();
    expect([second.current(), second.signal.aborted]).toEqual([false, true]);
  });
});

describe("drafts", () => {
  const store = () => {
    const kept = new Map<string, string>();
    return {
      kept,
      getItem: (key: string) => kept.get(key) ?? null,
      setItem: (key: string, value: string) => void kept.set(key, value),
      removeItem: (key: string) => void kept.delete(key),
    };
  };
  const draft = { text: "new", base: { text: "old", tag: "1" } };

  it("keeps one per folder and case", () => {
    const place = store();
    keepDraft(place, "f", "a", draft);
    expect(draftOf(place, "f", "a")).toEqual(draft);
    expect(draftOf(place, "g", "a")).toBeUndefined();
    dropDraft(place, "f", "a");
    expect(draftOf(place, "f", "a")).toBeUndefined();
  });

  it("takes nothing for what is damaged, and says when nothing can be kept", () => {
    const place = store();
    place.kept.set("halfmicron/draft/f/a", "{");
    expect(draftOf(place, "f", "a")).toBeUndefined();
    place.kept.set("halfmicron/draft/f/a", '{"text":1}');
    expect(draftOf(place, "f", "a")).toBeUndefined();
    const full = { ...place, setItem: () => { throw new Error("full"); } };
    expect(keepDraft(full, "f", "a", draft)).toBe(false);
  });
});

describe("radius", () => {
  const scale = { low: 20, high: 30, top: 10, bottom: 110 };

  it("points up, and back again", () => {
    expect(heightOf(scale, 20)).toBe(110);
    expect(heightOf(scale, 30)).toBe(10);
    expect(radiusAt(scale, heightOf(scale, 23.4))).toBeCloseTo(23.4, 12);
  });

  it("reads between stations, in either direction, and nothing beyond or beside a hole", () => {
    expect(valueAt([1, 2, 4], [10, 20, 0], 3)).toBe(10);
    expect(valueAt([4, 2, 1], [0, 20, 10], 1.5)).toBe(15);
    expect(valueAt([1, 2], [10, 20], 2.1)).toBeNull();
    expect(valueAt([1, 2, 3], [10, null, 30], 1.5)).toBeNull();
    expect([within(5, 1, 3), within(0, 1, 3)]).toEqual([3, 1]);
  });
});

describe("values as text", () => {
  it("takes a number and its unit apart, and leaves other texts alone", () => {
    expect(quantityParts("11 bar(g)")).toEqual({ number: "11", unit: "bar(g)" });
    expect(quantityParts("-0.5e-3 m2/s")).toEqual({ number: "-0.5e-3", unit: "m2/s" });
    expect(quantityParts("7800")).toEqual({ number: "7800", unit: "" });
    expect(quantityParts("Ra 0.1 um")).toBeUndefined();
    expect(quantityParts("12 mm 3")).toEqual({ number: "12", unit: "mm 3" });
  });

  it("steps the last digit and keeps unit and digits", () => {
    expect(stepped("0.03 mm", 1)).toBe("0.04 mm");
    expect(stepped("10.0 bar(g)", -1)).toBe("9.9 bar(g)");
    expect(stepped("9", 10)).toBe("19");
    expect(stepped("auto", 1)).toBeUndefined();
  });

  it("shows a span in words and writes it back", () => {
    expect(spanShown('["24.45 mm", "30.8 mm"]')).toBe("24.45 mm to 30.8 mm");
    for (const [written, shown] of [['{ value = "14 N", hand = true }', "14 N, by hand"], ["{ value = 0.07, hand = true }", "0.07, by hand"]] as const) {
      expect(handShown(written)).toBe(shown);
      expect(handWritten(shown)).toBe(written);
    }
    expect(handWritten(handShown("auto"))).toBe("auto");
    expect(spanWritten("24.45 mm to 30.8 mm")).toBe('["24.45 mm", "30.8 mm"]');
    expect(spanWritten("24.5 mm")).toBe("24.5 mm");
  });

  it("takes a cell of the sheet apart", () => {
    expect(cellParts("at least 0.2 (0.08 to 0.6)")).toEqual({ bound: "at least", main: "0.2", range: "0.08 – 0.6" });
    expect(cellParts("-0.46")).toEqual({ bound: "", main: "−0.46", range: "" });
    expect(cellParts("no jump seen").main).toBe("no jump seen");
    expect(cellParts("below 1e-9")).toEqual({ bound: "below", main: "1e-9", range: "" });
  });

  it("typesets units and signs and leaves words and numbers alone", () => {
    const written = "0.16 um of 1102.2 mm2 at -4 degC, 3 uin, W/(m2 K), g/cm3, summary, film 2 of 3, hang-up";
    expect(typeset(written)).toBe("0.16 µm of 1102.2 mm² at −4 °C, 3 µin, W/(m² K), g/cm³, summary, film 2 of 3, hang-up");
  });

  it("reads a pointer to three digits", () => {
    expect([0.38123, 53.26, 1234.5, 0, null, -0.05].map(reading)).toEqual(["0.381", "53.3", "1235", "0", "–", "−0.0500"]);
  });
});

describe("errors at a field", () => {
  const error = { code: "", path: "duty.normal.speed", message: "`duty.normal.speed`: 9 rpm is outside 0 rpm to 3 rpm", range: "0 rpm to 3 rpm", hint: "check the unit" };

  it("tell the range once and not the path of the field", () => {
    expect(fault(error)).toEqual({ message: "9 rpm is outside 0 rpm to 3 rpm", help: "check the unit" });
    expect(fault({ ...error, message: "no such word", range: "inside, outside" }).help).toBe("Allowed: inside, outside. check the unit");
  });
});

describe("addresses", () => {
  it("come back as they went out, odd names too", () => {
    const routes: Route[] = [
      { place: "folder" },
      { place: "sheet", name: "a b/c%", duty: "" },
      { place: "sheet", name: "pump", duty: "suction lost" },
      { place: "film", name: "pump", duty: "" },
      { place: "film", name: "pump", duty: "normal" },
      { place: "report", name: "pump" },
      { place: "compare", first: "a", second: "b" },
      { place: "proof" },
    ];
    for (const route of routes) expect(routeOf(hashOf(route))).toEqual(route);
    expect(routeOf("#/nowhere")).toEqual({ place: "folder" });
    expect(routeOf("#/sheet/%E0%A4%A")).toEqual({ place: "sheet", name: "%E0%A4%A", duty: "" });
  });
});
