import { z } from 'zod';

/** Everything that can be said against a number, with what it means for a person. Codes are stable. */
export const flagMeanings = {
  unsettled: 'Too much of the previous port is left in the value, or the dwell is shorter than settling.',
  'zero-not-settled': 'A zero used here still falls from the port before it.',
  'below-detection-limit': 'The value is smaller than its detection limit; the signed number is kept.',
  'drift-exceeded': 'Zero or span moved further than the method allows.',
  'challenge-unstable': 'The references before and after differ by more than the method allows.',
  gap: 'Readings are missing, or a window or an interpolation crosses a break in time.',
  'port-unconfirmed': 'The selector valve did not confirm the port.',
  'wrong-port': 'The selector valve confirmed another port, or the port is not what the rig says.',
  'flat-signal': 'The readings hardly move, less than filtered air does: a fault, not a result.',
  'below-zero':
    'Below zero by more than noise explains: a blocked line reads like this, or the background has gone.',
  'no-flow':
    'The window, one beside it, a part of it or the background cannot be told from filtered air, as in a blocked line.',
  saturated: 'A reading reached the saturation of the photometer.',
  'no-background': 'The probe has no usable background reading from before the challenge.',
  'no-zero': 'There is no usable zero.',
  'no-reference': 'There is no usable reference, or it does not rise above the zero.',
  unbracketed: 'Zero or reference exists on one side of the window only; its value was held, not extrapolated.',
  incomplete: 'A dwell was cut short or is missing.',
  'problem-readings': 'Undecodable lines, or readings that the photometer called bad, lie inside a window.',
  'check-not-valid': 'A check of the rig was overdue, or had failed, when the trial was prepared.',
  'certificate-not-valid': 'A certificate had expired, or was missing, when the trial was prepared.',
  'no-breathing': 'The probe lies in the breathing zone, and the record does not show the breaths of the window.',
  'breathing-doubtful':
    'The probe lies in the breathing zone, and the breaths of the window are none that a person takes, or too few.',
  'left-out': 'A reviewer left out readings on which the value, its interval, limit or flags would else rest.',
} as const;
export type Flag = keyof typeof flagMeanings;
export const flagNames = Object.keys(flagMeanings) as [Flag, ...Flag[]];
export const flagSchema = z.enum(flagNames);

/** Flags that inform without casting doubt. Every other flag makes its cell a flagged cell. */
const informative: ReadonlySet<Flag> = new Set<Flag>(['below-detection-limit']);

/** Does any of these flags cast doubt on the number? A verdict that rests on such a number must say so. */
export function castsDoubt(flags: Iterable<Flag>): boolean {
  for (const flag of flags) if (!informative.has(flag)) return true;
  return false;
}

/** Without repeats, in the order of the vocabulary, so that equal assessments are equal byte for byte. */
export function orderFlags(flags: Iterable<Flag>): Flag[] {
  const present = new Set(flags);
  return flagNames.filter((name) => present.has(name));
}
