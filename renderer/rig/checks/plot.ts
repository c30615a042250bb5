/** A drawing area in user units, with the values at its ends. */
export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly x: readonly [number, number];
  readonly y: readonly [number, number];
}

export const margin = { left: 64, right: 14, top: 12, bottom: 34 } as const;

export function xOf({ width, x: [low, high] }: Frame, value: number): number {
  return margin.left + ((value - low) / (high - low)) * (width - margin.left - margin.right);
}

export function yOf({ height, y: [low, high] }: Frame, value: number): number {
  return height - margin.bottom - ((value - low) / (high - low)) * (height - margin.top - margin.bottom);
}

/** Lowest and highest with a little air, never the same. */
export function rangeOf(values: Iterable<number>): readonly [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (const value of values) {
    if (!Number.isFinite(value)) continue;
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (!(low <= high)) return [0, 1];
  const air = high > low ? 0.06 * (high - low) : Math.abs(high) || 1;
  return [low - air, high + air];
}

/** Round values inside of a range, about so many. */
export function ticksOf([low, high]: readonly [number, number], about = 5): number[] {
  const rough = (high - low) / about;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((factor) => factor * power).find((candidate) => candidate >= rough) ?? rough;
  const ticks: number[] = [];
  for (let tick = Math.ceil(low / step); tick * step <= high; tick += 1) {
    ticks.push(Number((tick * step).toPrecision(12)));
  }
  return ticks;
}

/** Indices of about so many elements, the first and last among them. */
export function thinned(length: number, most: number): number[] {
  if (length <= most) return Array.from({ length }, (_, index) => index);
  return Array.from({ length: most }, (_, index) => Math.round((index * (length - 1)) / (most - 1)));
}
