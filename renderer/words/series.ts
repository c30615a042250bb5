import { minutesAndSeconds } from './times.ts';

/** Decimal places that a length is shown with. */
const seconds = (value: number): string => `${value.toFixed(1)} s`;

export const seriesWords = {
  title: 'Series',
  lead: 'What happens in a trial, from the background to the closing zero. Begin from one that is there.',
  reading: 'Reading the series.',
  program: 'Of the program',
  programText: 'Templates with their source. They stay as they are; what you begin from one has its own name.',
  laboratory: 'Of the laboratory',
  laboratoryNone: 'None yet. A series that you save stands here, with every version of it.',
  laboratoryText: 'Saving a change keeps a new version. Trials keep the version they ran.',
  marks: {
    own: 'our own',
    secondary: 'public text, secondary',
    memory: 'public text, from memory',
    scenario: 'of the scenario that runs',
  },
  row: (version: number, exercises: number, length: number) =>
    `version ${version}, ${exercises} exercises, ${minutesAndSeconds(length)}`,
  fromTemplate: 'New from this template',
  edit: 'Change it',
  copy: 'New from this one',
  importFile: 'Import a file',
  importText: 'A series as JSON.',
  notJson: (detail: string) => `It is no JSON: ${detail}`,
  notJsonRemedy: 'Check braces, commas and quotation marks, or export a series to see the form.',
  toPlan: 'To the plan',
  ownName: (name: string) => `${name}, our own`,

  form: 'Change a series',
  name: 'Name',
  nameTaken: 'a series of the program has this name, or one that reads like it. Give yours another',
  source: 'Source',
  sourceHint: 'Where it comes from: printed in every report.',
  total: 'from first zero to last',
  inside: 'in the chamber',
  exercises: 'Exercises',
  exercise: 'Exercise',
  rest: 'Rest',
  length: 'Length',
  dwells: 'Lead-in, then dwells in their order; the usable part is filled',
  leastUsable: 'least usable in a dwell',
  seconds,
  /** A length as it is typed, in a table; what is no number as it stands. */
  short: (text: string) => (text.trim() === '' || Number.isNaN(Number(text)) ? text : minutesAndSeconds(Number(text))),
  noRig: 'No rig is open: usable seconds, order and limits are known only for a rig.',
  rigLine: (name: string, version: number, method: string) =>
    `On ${name}, version ${version}, by the method ${method}`,
  line: 'The whole series in time',
  lineText: (length: number) => `from background to closing zero, ${minutesAndSeconds(length)}`,
  before: 'Background',
  entry: 'Entry',
  after: 'Closing',

  add: 'Add',
  duplicate: 'Duplicate',
  remove: 'Remove',
  earlier: 'Earlier',
  later: 'Later',
  restore: (name: string) => `Put ${name === '' ? 'it' : name} back`,
  ofExercise: (number: number, count: number) => `Exercise ${number} of ${count}`,
  fields: {
    exerciseName: 'Name of the exercise',
    slug: 'Short name',
    slugHint: 'In results and files.',
    instruction: 'For the subject',
    operatorText: 'For the operator',
    operatorHint: 'On the console during it. Empty: nothing.',
    restSeconds: 'Rest before it',
    restZeroSeconds: 'of it on filtered air',
    leadInSeconds: 'Lead-in',
    durationSeconds: 'Length, lead-in too',
    dwellsPerProbe: 'Dwells per probe',
    dwellsHint: '1 whole, 2 split.',
    cadencePerMinute: 'Cadence',
    workRateWatts: 'Work rate',
    none: 'Empty: none.',
    movement: 'Figure',
  },
  movements: {
    '': 'None: words only',
    stand: 'Standing',
    march: 'Marching',
    'knee-bend': 'Knee bend',
    reach: 'Reaching up',
    twist: 'Twisting',
    bend: 'Bending aside',
    crawl: 'Crawling',
    ladder: 'On a ladder',
    step: 'Stepping',
  },
  unit: { second: 's', perMinute: '/min', watt: 'W', percent: '%' },
  around: 'Before and after',
  aroundFields: {
    'background.zeroSeconds': 'Background: zero',
    'background.dwellSeconds': 'Background: each probe',
    'entry.minimumSeconds': 'Entry: at least',
    'entry.maximumSeconds': 'Entry: at most',
    'entry.steadyRangePercent': 'Steady: range at most',
    'entry.steadyWindowSeconds': 'Steady: over',
    'entry.leastChallengePercent': 'Challenge: at least',
    'closing.referenceSeconds': 'Closing: reference',
    'closing.zeroSeconds': 'Closing: zero',
  },
  order: 'Order of the probes',
  orderOf: 'In each exercise',
  orders: { rotated: 'Another one, rotated', fixed: 'The same one' },
  forbidden: 'Never after each other',
  forbid: 'Forbid',
  pairBefore: 'First',
  pairAfter: 'Then',
  pair: (before: string, after: string) => `${before}, then ${after}`,
  allow: (before: string, after: string) => `Allow ${before}, then ${after} again`,
  remarks: 'To know before you run it',
  toKnow: 'to know before you run it',
  noRemarks: 'Nothing speaks against it.',
  incomplete: 'Marked fields have to be corrected before it can be timed.',

  promise: {
    heading: 'What it promises',
    probe: 'Probe',
    least: 'Shortest usable',
    sum: 'Usable in all',
    limit: 'Detection limit',
    slice: 'Slice error',
    unseen: (exercises: number) => `not seen in ${exercises === 1 ? '1 exercise' : `${exercises} exercises`}`,
    limitOf: (percent: number | null, breathed: boolean) =>
      percent !== null ? `${percent.toPrecision(2)} %` : breathed ? 'not known: breath' : 'not known',
    breathed:
      'In the breathing zone the limit takes the factor by which breath thins the air at the probe. ' +
      'That is measured in the trial, and not known before.',
    sliceOf: (slice: { readonly lowPercent: number; readonly highPercent: number } | null) => {
      if (slice === null) return 'not known';
      const [low, high] = [slice.lowPercent, slice.highPercent].map((percent) => percent.toFixed(0));
      return low === high ? `${high} %` : `${low} to ${high} %`;
    },
    from: (createdAt: string, rigVersion: number, windowSeconds: number | null) =>
      `By the scatter of the trial of ${createdAt.slice(0, 10)} on version ${rigVersion} of this rig. ` +
      'Each figure is that of the exercise in which it is worst. The limit is in percent of the challenge, ' +
      'the slice error (one standard deviation) in percent of the value' +
      (windowSeconds === null
        ? '; that trial does not show it.'
        : `, as seen with windows of ${windowSeconds.toFixed(1)} s; for others it lies between the two figures.`),
    reading: 'Reading what trials on this rig have shown.',
    unread: (where: string, failure: { readonly what: string; readonly where: string; readonly remedy: string }) =>
      `${where} could not be read, and may have shown it: ${failure.what} (${failure.where}). ${failure.remedy}`,
    unknown:
      'No assessed trial on this rig that could be read has shown how filtered air and leakage scatter: ' +
      'limits and slice errors are not known.',
    rotation: 'Rows for subjects',
    subjects: 'Subjects',
    subjectsHint: (most: number) => `1 to ${most}.`,
    noRotation: 'No order of the probes can be given for that.',
    rows: (offsets: readonly number[]) => `Port order from row, subject by subject: ${offsets.join(', ')}.`,
    imbalance: (positions: number, neighbours: number) =>
      `Imbalance left: positions ${(100 * positions).toFixed(1)} %, neighbours ${(100 * neighbours).toFixed(1)} %.`,
    imbalanceText:
      'The share of all visits that would have to be elsewhere for every probe to stand equally often in every ' +
      'position, and after every probe that it may follow.',
  },

  problems: (count: number) =>
    count === 1 ? 'One field keeps it from being saved.' : `${count} fields keep it from being saved.`,
  save: (version: number) => (version === 1 ? 'Save' : `Save as version ${version}`),
  saving: 'Saving',
  saved: (name: string, version: number) => `Kept: ${name}, version ${version}.`,
  unchanged: (name: string, version: number) => `As it is kept: ${name}, version ${version}.`,
  exportReason: 'Export writes what is kept: save first.',
  leaving: 'What is changed is not kept. Leave it all the same?',
  leave: 'Leave without saving',
  stay: 'Go on changing',
  exportFile: 'Export',
  back: 'Back',
  plan: 'Plan a trial with it',
};
