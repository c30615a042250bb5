export { flagName } from '../../src/leakage/flag-words.ts';
import type { TrialResult } from '../../src/bridge/result.ts';
import { clockOfDay, dayOf, trialTime } from './times.ts';

export const resultWords = {
  title: 'Result',
  study: 'Study',
  compareStudy: 'Study: compare its trials',
  ofTrial: (subject: string, ensemble: string) => `${subject} · ${ensemble}`,
  recorded: (at: string, operator: string) => `recorded ${dayOf(at)} ${clockOfDay(at)} by ${operator}`,
  sealed: (at: string) => `sealed ${dayOf(at)} ${clockOfDay(at)}`,
  sealedHead: (count: number) => `head of the chain of ${count} seconds`,
  notSealed: 'not sealed',
  method: (name: string, version: number) => `Method “${name}”, version ${version}`,
  assessed: (at: string, program: string) => `assessed ${dayOf(at)} ${clockOfDay(at)} by Chamberside ${program}`,
  nextFlag: 'Next flag',
  noFlags: 'No cell is flagged',

  table: '% IL, window mean',
  tableLabel: 'Inward leakage by probe and exercise, percent of the challenge',
  trial: 'Trial',
  allProbes: 'All probes',
  /** The first of several reasons; all of them stand beside the table. */
  firstOf: ([first = '', ...more]: readonly string[]) =>
    more.length < 2 ? [first, ...more].join(', ') : `${first}, ${more.length} more`,
  noResult: 'no result',
  notAssessed: 'not in this assessment',
  flagged: 'flagged',
  meanNotes: (flagged: number, missing: number): string[] => [
    ...(flagged > 0 ? [`${flagged} flagged`] : []),
    ...(missing > 0 ? [`${missing} missing`] : []),
  ],
  meanOf: (cells: number) => (cells === 1 ? 'mean of 1 cell' : `mean of ${cells} cells`),
  protectionFactor: 'Protection factor',
  detectionLimit: 'Detection limit',
  belowLimit: 'below the detection limit; the signed number is kept',

  airSeen: 'Air seen',
  wholeExercise: 'Whole exercise',
  level: '95 %',
  interval: (low: string, high: string) => `${low} to ${high}`,
  noSlices: 'The trial does not show how much slices of an exercise differ.',
  sliceNote: 'one slice of the exercise was seen',
  windows: 'Window',
  window: (from: string, to: string) => `${from} to ${to}`,
  dwellPosition: (position: number, of: number) => `dwell ${position} of ${of} in the exercise`,
  flags: 'Flags',
  noFlagsHere: 'none',
  why: 'Why there is no number',
  noReason: 'The assessment gives no reason.',

  trace: 'The whole trial',
  traceLabel: 'Photometer reading over trial time, with exercises, dwells, windows and gaps',
  loadingTrace: 'Reading the trial',
  noTrace: 'No photometer reading is stored with this trial.',
  window_: 'window',
  gap: 'gap, no reading',
  requirement: 'requirement',
  stopped: ({ atMicroseconds, by, person }: NonNullable<TrialResult['stopped']>) =>
    `Stopped by ${by === 'subject' ? 'the subject' : person} at ${trialTime(atMicroseconds)}`,
  found: (title: string, word: string, note: string) => `${title}: ${word}, ${note}`,
  openAfter: (open: number) => `after the trial: ${open === 1 ? '1 item' : `${open} items`} open`,
  checksNotValid: (names: readonly string[]) => `checks overdue or failed: ${names.join(', ')}`,
  gaps: (count: number) => (count === 1 ? '1 gap' : `${count} gaps`),

  notAssessedTitle: 'Not assessed yet',
  notAssessedText: (standing: 'closed' | 'open') =>
    standing === 'closed'
      ? 'The trial is whole on disk. Assess it by the method that was frozen with it.'
      : 'The trial has not been closed. What was recorded is kept; ' +
        'take it up from the start screen to go on or to stop it.',
  assess: 'Assess it',
  assessing: 'Assessing',
  loading: 'Opening the trial',
  backToStart: 'Back to the studies',
  chooseTrial: 'Choose a trial',
  chooseTrialText: 'Results are opened from the studies.',
};
