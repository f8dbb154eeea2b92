/** Reading curves at a radius: only looking up and drawing, no physics. */

import type { Chart } from "../api";

/** Linear scale from a radius to a height in a picture. */
export interface RadiusScale {
  readonly low: number;
  readonly high: number;
  readonly top: number;
  readonly bottom: number;
}

export const heightOf = (scale: RadiusScale, radius: number): number =>
  scale.bottom + ((radius - scale.low) / (scale.high - scale.low)) * (scale.top - scale.bottom);

export const radiusAt = (scale: RadiusScale, height: number): number =>
  scale.low + ((height - scale.bottom) / (scale.top - scale.bottom)) * (scale.high - scale.low);

/** Value between the two nearest stations; none beyond the ends or where a neighbour has none. */
export function valueAt(radii: readonly (number | null)[], values: readonly (number | null)[], radius: number): number | null {
  for (let k = 0; k + 1 < radii.length; k++) {
    const [a, b] = [radii[k], radii[k + 1]];
    if (a == null || b == null || radius < Math.min(a, b) || radius > Math.max(a, b)) continue;
    const [u, v] = [values[k], values[k + 1]];
    if (u == null || v == null) return null;
    return a === b ? u : u + ((radius - a) / (b - a)) * (v - u);
  }
  return null;
}

export const within = (radius: number, low: number, high: number): number => Math.min(high, Math.max(low, radius));

/** A ten-thousandth of the axis is less than the width of its line: nothing. */
const NEGLIGIBLE = 1e-4;

/** What a curve of a chart is read as at a radius. */
export function shownAt(chart: Chart, series: Chart["series"][number], radius: number): number | null {
  const value = valueAt(series.up, series.across, radius);
  return value !== null && Math.abs(value) < NEGLIGIBLE * (chart.across.high - chart.across.low) ? 0 : value;
}
