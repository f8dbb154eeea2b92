/** The film over the face: looking up and drawing what the server told, no physics. */

import type { FilmMap, FilmMaps } from "../api";

const DEGREES = Math.PI / 180;

/** What part of the face is seen: a point `[r, angle]` lies at `[-hand r sin, -r cos]` of the angle less `up`, y downward as on a screen. */
export interface Sight {
  readonly hand: 1 | -1;
  /** Angle that points upward, degrees. */
  readonly up: number;
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

export const handOf = (maps: FilmMaps): 1 | -1 => (maps.on === "stationary" ? -1 : 1);
export const periodOf = (maps: FilmMaps): number => 360 / maps.sectors;
export const edgesOf = (maps: FilmMaps): [number, number] => [maps.radius[0] ?? 0, maps.radius[maps.radius.length - 1] ?? 1];

/** The whole ring with a little room about it. */
export function wholeRing(maps: FilmMaps): Sight {
  const reach = edgesOf(maps)[1] * 1.03;
  return { hand: handOf(maps), up: 0, left: -reach, top: -reach, width: 2 * reach, height: 2 * reach };
}

/** About one period around an angle, radius up. */
export function closeUp(maps: FilmMaps, angle: number): Sight {
  const [inner, outer] = edgesOf(maps);
  const band = outer - inner;
  const middle = 0.5 * (inner + outer);
  const width = Math.min(Math.max(1.4 * periodOf(maps) * DEGREES * middle, 2.2 * band), 5 * band, 1.6 * outer);
  const low = Math.sqrt(Math.max(0, inner * inner - 0.25 * width * width));
  const room = 0.06 * band;
  return { hand: handOf(maps), up: angle, left: -0.5 * width, top: -outer - room, width, height: outer - low + 2 * room };
}

/** Where a place of the face is seen. */
export function seen(sight: Sight, radius: number, angle: number): [number, number] {
  const turned = (angle - sight.up) * DEGREES;
  return [-sight.hand * radius * Math.sin(turned), -radius * Math.cos(turned)];
}

/** Which place of the face is seen there: radius, and angle from 0 to 360 degrees. */
export function placeAt(sight: Sight, x: number, y: number): [number, number] {
  const angle = sight.up + Math.atan2(-sight.hand * x, -y) / DEGREES;
  return [Math.hypot(x, y), ((angle % 360) + 360) % 360];
}

/** Looks values up quickly, for every pixel of a picture. */
export class Sampler {
  readonly #maps: FilmMaps;
  readonly #layers: Uint16Array;
  readonly #columns: Uint16Array;
  readonly #inner: number;
  readonly #outer: number;
  readonly #period: number;
  static readonly #BINS = 4096;

  constructor(maps: FilmMaps) {
    this.#maps = maps;
    [this.#inner, this.#outer] = edgesOf(maps);
    const { radius, angle_deg } = maps;
    this.#period = (angle_deg[angle_deg.length - 1] ?? 360) - (angle_deg[0] ?? 0);
    this.#layers = bins(radius, this.#inner, this.#outer - this.#inner, Sampler.#BINS);
    this.#columns = bins(angle_deg, angle_deg[0] ?? 0, this.#period, Sampler.#BINS);
  }

  /** Value of a map at a radius and an angle in degrees; NaN beyond the band. */
  at(map: FilmMap, radius: number, angle: number): number {
    const { radius: radii, angle_deg: angles, shift_deg: shifts } = this.#maps;
    if (!(radius >= this.#inner && radius <= this.#outer)) return NaN;
    const layer = found(radii, this.#layers, (radius - this.#inner) / (this.#outer - this.#inner), radius);
    const [r0, r1] = [radii[layer]!, radii[layer + 1]!];
    const share = (radius - r0) / (r1 - r0);
    const shift = shifts[layer]! + share * (shifts[layer + 1]! - shifts[layer]!);
    const first = angles[0]!;
    let turned = (angle - shift - first) % this.#period;
    if (turned < 0) turned += this.#period;
    const column = found(angles, this.#columns, turned / this.#period, first + turned);
    const columns = angles.length - 1;
    const { values } = map;
    if (map.place === "cells") return values[layer * columns + column]!;
    const across = (first + turned - angles[column]!) / (angles[column + 1]! - angles[column]!);
    const next = column + 1 === columns ? 0 : column + 1;
    const [low, high] = [layer * columns, (layer + 1) * columns];
    const below = values[low + column]! + across * (values[low + next]! - values[low + column]!);
    const above = values[high + column]! + across * (values[high + next]! - values[high + column]!);
    return below + share * (above - below);
  }
}

/** For every bin of a span the interval of `lines` in which it begins. */
function bins(lines: readonly number[], from: number, span: number, count: number): Uint16Array {
  const made = new Uint16Array(count + 1);
  let k = 0;
  for (let bin = 0; bin <= count; bin++) {
    const value = from + (span * bin) / count;
    while (k + 2 < lines.length && lines[k + 1]! <= value) k++;
    made[bin] = k;
  }
  return made;
}

function found(lines: readonly number[], table: Uint16Array, share: number, value: number): number {
  let k = table[Math.min(table.length - 1, Math.floor(share * (table.length - 1)))]!;
  while (k + 2 < lines.length && lines[k + 1]! <= value) k++;
  return k;
}

export type Rgb = readonly [number, number, number];

/** `rgb(1, 2, 3)` as the browser writes a computed colour. */
export function rgbOf(text: string): Rgb {
  const numbers = (text.match(/[\d.]+/g) ?? []).map(Number);
  return [numbers[0] ?? 0, numbers[1] ?? 0, numbers[2] ?? 0];
}

/** Even steps for the eye from one colour to another (Oklab, B. Ottosson 2020), as `linear-gradient(in oklab, ..)` makes them: four bytes a step. */
export function ramp(from: Rgb, to: Rgb, steps = 256): Uint8ClampedArray {
  const made = new Uint8ClampedArray(4 * steps);
  const [a, b] = [oklab(from), oklab(to)];
  for (let k = 0; k < steps; k++) {
    const share = k / (steps - 1);
    made.set([...rgb([0, 1, 2].map((i) => a[i]! + share * (b[i]! - a[i]!)) as unknown as Rgb), 255], 4 * k);
  }
  return made;
}

function oklab(colour: Rgb): Rgb {
  const [r, g, b] = colour.map((byte) => (byte / 255 <= 0.04045 ? byte / 255 / 12.92 : ((byte / 255 + 0.055) / 1.055) ** 2.4)) as unknown as Rgb;
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return [0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s, 1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s, 0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s];
}

function rgb([lightness, a, b]: Rgb): number[] {
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const linear = [4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s, -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s, -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s];
  return linear.map((c) => 255 * (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055));
}

/** The face painted pixel by pixel: clear beyond the band. */
export function paint(map: FilmMap, sampler: Sampler, sight: Sight, colours: Uint8ClampedArray, pixels: Uint8ClampedArray, width: number, height: number): void {
  const steps = colours.length / 4 - 1;
  const span = map.high - map.low;
  for (let row = 0; row < height; row++) {
    const y = sight.top + ((row + 0.5) / height) * sight.height;
    for (let column = 0; column < width; column++) {
      const x = sight.left + ((column + 0.5) / width) * sight.width;
      const [radius, angle] = placeAt(sight, x, y);
      const value = sampler.at(map, radius, angle);
      const at = 4 * (row * width + column);
      if (Number.isNaN(value)) {
        pixels[at + 3] = 0;
        continue;
      }
      const step = span > 0 ? Math.round(((value - map.low) / span) * steps) : 0;
      const from = 4 * Math.min(steps, Math.max(0, step));
      pixels[at] = colours[from]!;
      pixels[at + 1] = colours[from + 1]!;
      pixels[at + 2] = colours[from + 2]!;
      pixels[at + 3] = 255;
    }
  }
}

/** Edges that are drawn at once; more would be finer than the picture. */
const MOST_EDGES = 4000;

/** Edges of what is cut into the face as one path of SVG, every sector that is seen; nothing where there are too many to be seen. */
export function edgesPath(maps: FilmMaps, sight: Sight): string {
  const period = periodOf(maps);
  const sectors: number[] = [];
  // Half of the angle that is seen, and an edge may reach far beyond its sector.
  const half = sight.width < edgesOf(maps)[1] * 1.7 ? Math.asin(Math.min(1, sight.width / (2 * edgesOf(maps)[0]))) / DEGREES : 180;
  const reach = Math.max(0, ...maps.face.map((edge) => (edge.kind === "cut" ? Math.max(...edge.angle_deg.map(Math.abs)) : period)));
  for (let k = 0; k < maps.sectors; k++) {
    const away = Math.abs(((((k + 0.5) * period - sight.up) % 360) + 540) % 360 - 180);
    if (away <= half + period + reach) sectors.push(k);
  }
  if (sectors.length * maps.face.length > MOST_EDGES) return "";
  return sectors.map((k, first) => sectorPath(maps, sight, k * period, first === 0)).join("");
}

function sectorPath(maps: FilmMaps, sight: Sight, turn: number, first: boolean): string {
  const written = ([x, y]: [number, number]) => `${x.toFixed(3)} ${y.toFixed(3)}`;
  return maps.face
    .map((edge) => {
      switch (edge.kind) {
        case "cut":
          return `M${edge.radius.map((radius, k) => written(seen(sight, radius, (edge.angle_deg[k] ?? 0) + turn))).join("L")}Z`;
        case "dimple": {
          const [x, y] = seen(sight, edge.at, edge.angle_deg + turn);
          const r = edge.radius.toFixed(3);
          return `M${written([x - edge.radius, y])}a${r} ${r} 0 1 0 ${(2 * edge.radius).toFixed(3)} 0a${r} ${r} 0 1 0 ${(-2 * edge.radius).toFixed(3)} 0Z`;
        }
        case "rim":
          return first ? circlePath(edge.radius) : "";
        case "crest": {
          const [inner, outer] = edgesOf(maps);
          return `M${written(seen(sight, inner, edge.angle_deg + turn))}L${written(seen(sight, outer, edge.angle_deg + turn))}`;
        }
        default:
          return "";
      }
    })
    .join("");
}

/** A circle about the axis. */
export function circlePath(radius: number): string {
  const r = radius.toFixed(3);
  return `M${-radius} 0A${r} ${r} 0 1 0 ${radius} 0A${r} ${r} 0 1 0 ${-radius} 0Z`;
}
