import type { Rig } from '../model/rig.ts';

/** What a check of zero or span is held against, unit of the photometer stream. */
export interface CheckLimits {
  readonly lowLimit: number;
  readonly highLimit: number;
  /** What the limits are, in words. */
  readonly text: string;
}

/** Mean and standard deviation (n − 1) of single readings. */
export interface CheckReading {
  readonly meanReading: number;
  readonly deviationReading: number;
  readonly readings: number;
}

/** A zero further from nothing than this share of the nominal challenge is no stray light but a fault, percent. */
export const zeroLimitPercent = 1;

/** The chamber reference may lie this far from the nominal challenge, percent. */
export const spanLimitPercent = 20;

/** Fewer readings than this show nothing. */
const fewestReadings = 10;

/** The limits of a check on this rig. */
export function checkLimits(check: 'zero' | 'span', rig: Rig): CheckLimits {
  const { nominal } = rig.challenge;
  if (check === 'zero') {
    const limit = (zeroLimitPercent / 100) * nominal;
    return {
      lowLimit: -limit,
      highLimit: limit,
      text: `filtered air within ${zeroLimitPercent} % of the nominal challenge of ${nominal}`,
    };
  }
  return {
    lowLimit: nominal * (1 - spanLimitPercent / 100),
    highLimit: Math.min(nominal * (1 + spanLimitPercent / 100), rig.saturation),
    text: `chamber reference within ${spanLimitPercent} % of the nominal challenge of ${nominal}`,
  };
}

/** Null for no readings at all; values that are no number are left out. */
export function checkReading(values: readonly number[]): CheckReading | null {
  const finite = values.filter(Number.isFinite);
  if (finite.length === 0) return null;
  // Counted from the first reading, so that equal readings deviate by exactly nothing.
  const origin = finite[0] ?? 0;
  const offset = finite.reduce((sum, value) => sum + (value - origin), 0) / finite.length;
  const squares = finite.reduce((sum, value) => sum + (value - origin - offset) ** 2, 0);
  return {
    meanReading: origin + offset,
    deviationReading: finite.length < 2 ? 0 : Math.sqrt(squares / (finite.length - 1)),
    readings: finite.length,
  };
}

/** The verdict, and why, in words. */
export function judgeCheck(
  reading: CheckReading,
  limits: CheckLimits,
): { readonly passed: boolean; readonly detail: string } {
  if (reading.readings < fewestReadings) {
    return { passed: false, detail: `Only ${reading.readings} readings came; ${fewestReadings} are needed.` };
  }
  if (reading.deviationReading === 0) {
    return { passed: false, detail: 'The readings did not move at all: a fault, not a result.' };
  }
  const passed = reading.meanReading >= limits.lowLimit && reading.meanReading <= limits.highLimit;
  return { passed, detail: `Limit: ${limits.text}.` };
}
