import type { LeftOut } from '../../src/leakage/left-out.ts';
import { clockOfDay, dayOf, trialTime } from './times.ts';

/** Choices of a method. */
const fieldNames: Readonly<Record<string, string>> = {
  name: 'Method',
  version: 'Version of the method',
  'settling.rule': 'Settling',
  'settling.seconds': 'Settling, s',
  'settling.windowSeconds': 'Kept of every dwell, s',
  zeroSettlingSeconds: 'Settling of filtered air, s',
  interpolation: 'Zero and chamber between dwells',
  zeroDriftShape: 'Shape of the zero’s drift',
  lagCorrection: 'Lag corrected',
  lagEndSeconds: 'Ends of a window, s',
  guardDispersions: 'Guard, spreads of the common line',
  subtractBackground: 'Background subtracted',
  applyDilution: 'Corrected for dilution',
  applyPenetration: 'Corrected for line loss',
  applySpatialFactor: 'Corrected for the subject’s place',
  applyBreathingZone: 'Corrected for what is breathed out',
  carryOverPercent: 'Carry-over allowed, %',
  detectionFactor: 'Noise allowed, standard uncertainties',
  detectionLimit: 'Detection limit',
  challengeChangePercent: 'Change of challenge allowed, %',
  zeroChangePercent: 'Move of zero allowed, %',
  zeroStepDeviations: 'Step of zero, standard deviations',
  spanChangePercent: 'Change of span allowed, %',
};

export const reviewWords = {
  title: 'Review',
  open: 'Review',
  close: 'Back to the cell',
  anew: 'Assess anew',
  compare: 'Assessments',
  parts: 'Parts of the review',
  dragHint: 'Drag over the trace, or type seconds of trial time. To look closer at it, drag before you open this.',
  from: 'From',
  to: 'To',
  seconds: 's',
  time: 'Lies on',
  times: { arrival: 'time of arrival', probe: 'time at the probe' } satisfies Record<LeftOut['time'], string>,
  probe: 'Of dwells at',
  everyDwell: 'every port',
  why: 'Reason',
  whyHint: 'Stands in the assessment and in the report.',
  add: 'Leave it out',
  leftOut: 'Left out',
  nothing: 'Nothing is left out.',
  remove: 'Take back',
  removeLabel: (stretch: string) => `Take back ${stretch}`,
  stretch: ({ fromMicroseconds, toMicroseconds }: LeftOut) =>
    `${trialTime(fromMicroseconds)} to ${trialTime(toMicroseconds)}, ` +
    `${Number(((toMicroseconds - fromMicroseconds) / 1e6).toFixed(3))}\u00a0s`,
  stretchOf: (time: LeftOut['time'], label: string | null) =>
    `${label ?? 'every port'}, ${time === 'arrival' ? 'time of arrival' : 'time at the probe'}`,
  took: (readings: number, dwells: number) =>
    dwells === 0 ? 'nothing of a window' : `${readings} readings of ${dwells === 1 ? '1 window' : `${dwells} windows`}`,
  method: 'Method',
  planned: 'as the trial was planned',
  reviewer: 'Reviewer',
  nobody: 'Nobody is registered as a reviewer: add one under Person.',
  pin: 'PIN',
  assess: 'Assess as reviewer',
  assessing: 'Assessing',
  beside:
    'It becomes a new assessment beside the others, and the one that counts unless one is released. ' +
    'Nothing is overwritten.',
  needs: 'Give a reason and the PIN.',
  needsStretch: 'Leave out the stretch that is typed above, or clear its times.',

  list: 'Assessments of the trial',
  row: (position: number, at: string) => `${position}, ${dayOf(at)} ${clockOfDay(at)}`,
  counts: 'counts',
  by: (person: string, reason: string) => `${person}: ${reason}`,
  nobodyChose: 'by the method, nobody chose anything',
  inDoubt: (flagged: number, cells: number) => `${flagged} of ${cells} in doubt`,
  mean: (percent: string) => `mean ${percent}\u00a0%`,
  methodOf: (name: string, version: number) => `“${name}”, version ${version}`,
  chosenBy: (person: string, reason: string, stretches: number) => {
    const count = stretches === 1 ? '1 stretch' : `${stretches} stretches`;
    return `Chosen by ${person}${stretches === 0 ? '' : `, ${count} left out`}: ${reason}`;
  },

  difference: 'Difference',
  before: 'Before',
  beforePercent: 'Before, %',
  after: 'After',
  afterPercent: 'After, %',
  numbered: (position: number) => `Assessment ${position}`,
  loading: 'Comparing',
  onlyOne: 'There is one assessment: nothing to compare it with.',
  changed: (changed: number, all: number) =>
    changed === 0 ? 'Every value is the same, to the last bit.' : `${changed} of ${all} values differ.`,
  wholeChanged: (changed: number, all: number) =>
    `The 95\u00a0% interval of the whole exercise differs for ${changed} of ${all} values.`,
  value: 'Value',
  change: 'Change',
  ofDoubt: '× doubt',
  ofDoubtHint: '× doubt: change over half of the wider 95 % interval; above 1 it is larger than what was stated.',
  meanOf: (name: string) => `Mean, ${name}`,
  overall: 'Mean of the trial',
  none: 'none',
  field: (field: string, before: string, after: string) => `${fieldNames[field] ?? field}: ${before} → ${after}`,
  gained: 'now',
  lost: 'no more',
  nowLeftOut: (stretch: string, reason: string) => `Left out now, ${stretch}: ${reason}`,
  leftOutNoMore: (stretch: string) => `Left out no more: ${stretch}`,
};
