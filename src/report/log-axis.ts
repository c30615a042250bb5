/** A log axis: places of values between two ends. */
export interface LogAxis {
  readonly low: number;
  readonly high: number;
  /** Values at which the axis is labelled, ascending. */
  readonly ticks: readonly number[];
  /** Place of a value above zero; beyond the ends for values beyond them. */
  place(value: number): number;
}

/**
 * An axis around values above zero: from the power of ten, or twice or five times one, at or below the lowest to the
 * one at or above the highest. Labelled at decades, and where they are few, at twice and five times them too.
 * @param values at least one of them finite and above zero, otherwise 0.01 to 1 is taken
 */
export function logAxis(values: readonly number[], from: number, to: number): LogAxis {
  const positive = values.filter((value) => Number.isFinite(value) && value > 0);
  const least = positive.length === 0 ? 0.01 : Math.min(...positive);
  const most = positive.length === 0 ? 1 : Math.max(...positive);
  let low = stepAtOrBelow(least);
  const high = stepAtOrAbove(Math.max(most, low * 2));
  if (low === high) low = stepAtOrBelow(low * 0.999);
  const decades = Math.log10(high / low);
  const multiples = decades <= 2.4 ? [1, 2, 5] : [1];
  const ticks: number[] = [];
  for (let exponent = Math.floor(Math.log10(low)); exponent <= Math.ceil(Math.log10(high)); exponent += 1) {
    for (const multiple of multiples) {
      const tick = Number(`${multiple}e${exponent}`);
      if (tick >= low * 0.999 && tick <= high * 1.001) ticks.push(tick);
    }
  }
  const scale = (to - from) / (Math.log10(high) - Math.log10(low));
  return { low, high, ticks, place: (value) => from + (Math.log10(value) - Math.log10(low)) * scale };
}

const steps = [1, 2, 5, 10];

function stepAtOrBelow(value: number): number {
  const exponent = Math.floor(Math.log10(value));
  const step = steps.findLast((candidate) => Number(`${candidate}e${exponent}`) <= value * (1 + 1e-9)) ?? 1;
  return Number(`${step}e${exponent}`);
}

function stepAtOrAbove(value: number): number {
  const exponent = Math.floor(Math.log10(value));
  const step = steps.find((candidate) => Number(`${candidate}e${exponent}`) >= value * (1 - 1e-9)) ?? 10;
  return Number(`${step}e${exponent}`);
}
