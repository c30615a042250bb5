import type { Flag } from './flag.ts';

/** Flags in few words, for chips, cells and reports; the whole meaning stands in the vocabulary. */
const flagWords: Readonly<Record<Flag, string>> = {
  unsettled: 'unsettled',
  'zero-not-settled': 'zero not settled',
  'below-detection-limit': 'below the detection limit',
  'drift-exceeded': 'drift exceeded',
  'challenge-unstable': 'challenge unstable',
  gap: 'gap in the readings',
  'port-unconfirmed': 'port not confirmed',
  'wrong-port': 'wrong port',
  'flat-signal': 'flat signal',
  'no-flow': 'no flow to be seen',
  'below-zero': 'below zero',
  saturated: 'saturated',
  'no-background': 'no background',
  'no-zero': 'no zero',
  'no-reference': 'no reference',
  unbracketed: 'zero or reference on one side only',
  incomplete: 'dwell cut short, skipped or missing',
  'problem-readings': 'problem readings in the window',
  'check-not-valid': 'check overdue or failed',
  'certificate-not-valid': 'certificate expired or missing',
  'no-breathing': 'breath not recorded',
  'breathing-doubtful': 'odd breaths in the window',
  'left-out': 'stretch left out',
};

/** A flag in few words; one that this program does not know, as it stands in the record. */
export function flagName(flag: string): string {
  return Object.hasOwn(flagWords, flag) ? flagWords[flag as Flag] : flag.replaceAll('-', ' ');
}
