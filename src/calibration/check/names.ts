import type { Rig } from '../../model/rig.ts';
import type { CheckKind } from './vocabulary.ts';

/** Checks in few words, for rows, warnings and reports. */
const names: Readonly<Record<CheckKind, string>> = {
  zero: 'zero',
  span: 'span',
  'detection-limit': 'detection limit',
  linearity: 'linearity',
  response: 'response',
  valve: 'valve',
  dilution: 'dilution',
  'line-leak': 'line leak',
  uniformity: 'uniformity',
  belt: 'belt',
  clock: 'clock',
};

/** `zero`, `line leak, Ankle`. @param subject name of a port; null for the rig as a whole. */
export function checkName(check: CheckKind, subject: string | null, rig: Rig | null): string {
  if (subject === null) return names[check];
  const label = rig?.ports.find(({ probe }) => probe === subject)?.label ?? subject;
  return `${names[check]}, ${label}`;
}
