import type { Explanation } from './explanation.ts';

/** Decimals with which the numbers of an explanation are shown, so that its value can be computed from them. */
export interface ExplanationDigits {
  readonly percentDecimals: number;
  readonly readingDecimals: number;
}

/** Figures of a result, counted from the greater of its amount and its detection limit. */
const resultFigures = 4;
/** Rounded readings between the window and the net reading: mean, two ends, lag, zero, background and its zero. */
const roundedReadings = 10;
const mostDecimals = 12;

/**
 * The result has four figures, but none that its detection limit makes void. Readings have so many decimals that all
 * their roundings together stay below a twentieth of the last figure of the result.
 */
export function digitsOf(explanation: Pick<Explanation, 'windowPercent' | 'detectionLimitPercent' | 'parts' | 'rig'>) {
  const { detectionLimitPercent, parts, rig, windowPercent } = explanation;
  const size = Math.max(Math.abs(windowPercent ?? 0), detectionLimitPercent ?? 0);
  const percentDecimals = size > 0 ? limited(resultFigures - 1 - Math.floor(Math.log10(size))) : resultFigures;
  const scale = Math.max(0, ...parts.map(({ percentPerReading }) => percentPerReading ?? 0));
  const readingDecimals =
    scale > 0
      ? limited(Math.ceil(percentDecimals + Math.log10(20 * (roundedReadings / 2) * scale)))
      : limited(2 + Math.ceil(-Math.log10(rig.resolution)));
  return { percentDecimals, readingDecimals };
}

function limited(decimals: number): number {
  return Math.min(mostDecimals, Math.max(0, decimals));
}

/** A number to a count of significant figures, never in powers of ten. @param figures 1 to 15. */
export function toFigures(value: number, figures: number): string {
  if (value === 0) return '0';
  const exponent = Math.floor(Math.log10(Math.abs(Number(value.toPrecision(figures)))));
  return value.toFixed(Math.min(20, Math.max(0, figures - 1 - exponent)));
}
