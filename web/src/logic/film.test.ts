import { describe, expect, it } from "vitest";

import type { FilmMap, FilmMaps } from "../api";
import { closeUp, edgesPath, paint, placeAt, ramp, rgbOf, Sampler, seen, wholeRing } from "./film";

/** The field of the server's own test: the same places must read the same. */
const pressure: FilmMap = { key: "pressure", label: "film pressure", unit: "MPa(a)", place: "nodes", low: 0, high: 1.5, values: Array.from({ length: 16 }, (_, k) => k / 10) };
const gap: FilmMap = { key: "gap", label: "gap", unit: "um", place: "cells", low: 3, high: 9, values: Array.from({ length: 12 }, (_, k) => (k % 4 < 2 ? 3 : 9)) };
const maps: FilmMaps = {
  title: "", duty: "normal", units: "si", axisymmetric: false, on: "rotating", textures: [], sectors: 12, length_unit: "mm",
  radius: [60, 65, 70, 78], angle_deg: [0, 4, 12, 20, 30], shift_deg: [0, 0, 10, 30], maps: [pressure, gap], face: [], numbers: [], notes: [],
};

describe("the film over the face", () => {
  it("reads nodes straight and cells evenly, turned with their circle and repeated by sector", () => {
    const sampler = new Sampler(maps);
    const read = (map: FilmMap, radius: number, angle: number) => sampler.at(map, radius, angle);
    expect(read(pressure, 65, 4)).toBeCloseTo(0.5, 12);
    expect(read(pressure, 65, 8)).toBeCloseTo(0.55, 12);
    for (const turn of [0, 90, -360]) expect(read(pressure, 70, 14 + turn)).toBeCloseTo(0.9, 12);
    expect(read(pressure, 60, 25)).toBeCloseTo(0.15, 12);
    expect([read(gap, 67.5, 16.9), read(gap, 67.5, 17.1)]).toEqual([3, 9]);
    expect(read(pressure, 78, 30)).toBeCloseTo(1.2, 12);
    expect(read(pressure, 59.9, 0)).toBeNaN();
  });

  it("sees a place where it looks for it, on either hand", () => {
    for (const hand of [1, -1] as const) {
      const sight = { ...wholeRing(maps), hand, up: 40 };
      for (const [radius, angle] of [[61, 3], [77, 200], [70, 359]] as const) {
        const [r, a] = placeAt(sight, ...seen(sight, radius, angle));
        expect(r).toBeCloseTo(radius, 9);
        expect(a).toBeCloseTo(angle, 9);
      }
    }
    const quarter = seen(wholeRing(maps), 60, 90);
    expect(quarter[0]).toBeLessThan(-59); // anticlockwise on the face of the turning ring
    expect(seen(wholeRing({ ...maps, on: "stationary" }), 60, 90)[0]).toBeGreaterThan(59);
  });

  it("shows the whole band of about one period close up", () => {
    const sight = closeUp(maps, 77);
    expect(seen(sight, 78, 77)[1]).toBeGreaterThan(sight.top);
    expect(seen(sight, 60, 77)[1]).toBeLessThan(sight.top + sight.height);
    const [, left] = placeAt(sight, sight.left, -69);
    const [, right] = placeAt(sight, sight.left + sight.width, -69);
    expect(left - right).toBeGreaterThan(30);
  });

  it("steps from pale to deep in even lightness, ends as they are", () => {
    const colours = ramp(rgbOf("rgb(238, 245, 250)"), rgbOf("rgb(20, 73, 111)"), 5);
    expect([...colours.slice(0, 3)]).toEqual([238, 245, 250]);
    expect([...colours.slice(16, 19)]).toEqual([20, 73, 111]);
    const light = [0, 1, 2, 3, 4].map((k) => colours[4 * k + 1]!);
    expect(light.every((value, k) => k === 0 || value < light[k - 1]!)).toBe(true);
  });

  it("paints the band and leaves the rest clear", () => {
    const size = 60;
    const pixels = new Uint8ClampedArray(4 * size * size);
    paint(gap, new Sampler(maps), wholeRing(maps), ramp([255, 255, 255], [0, 0, 0], 2), pixels, size, size);
    const at = (x: number, y: number) => [...pixels.slice(4 * (y * size + x), 4 * (y * size + x) + 4)];
    expect(at(30, 30)[3]).toBe(0);
    expect(at(0, 0)[3]).toBe(0);
    const band = Array.from({ length: size * size }, (_, k) => [pixels[4 * k]!, pixels[4 * k + 3]!] as const).filter(([, clear]) => clear === 255);
    // The ring between 60 and 78 of the 161 that the picture is wide.
    const share = (Math.PI * (78 ** 2 - 60 ** 2)) / (2 * 78 * 1.03) ** 2;
    expect(Math.abs(band.length / size ** 2 / share - 1)).toBeLessThan(0.05);
    const deep = band.filter(([value]) => value === 0).length / band.length;
    expect(deep).toBeGreaterThan(0.5); // cells from 12 to 30 degrees of each 30
    expect(deep).toBeLessThan(0.7);
  });

  it("draws edges as paths that close", () => {
    const face: FilmMaps["face"] = [{ kind: "cut", radius: [65, 78, 78], angle_deg: [0, 10, 12] }, { kind: "dimple", at: 70, angle_deg: 5, radius: 1 }, { kind: "rim", radius: 66 }, { kind: "crest", angle_deg: 90 }, { kind: "valley", angle_deg: 0 }];
    const path = edgesPath({ ...maps, face }, wholeRing(maps));
    // One of each a sector, the circle about the axis once.
    expect(path.match(/M/g)?.length).toBe(3 * 12 + 1);
    expect(path.match(/Z/g)?.length).toBe(2 * 12 + 1);
    const near = edgesPath({ ...maps, face }, closeUp(maps, 200));
    expect(near.match(/M/g)?.length).toBeLessThan(20);
    expect(near.match(/M/g)?.length).toBeGreaterThan(6);
    const crowd = { ...maps, face: Array.from({ length: 1000 }, () => face[1]!) };
    expect(edgesPath(crowd, wholeRing(maps))).toBe("");
    expect(path).not.toContain("NaN");
  });
});
