import type { StudyView } from '../../src/bridge/study.ts';
import { limitNumber, percentNumber, significant } from './numbers.ts';

type Summary = StudyView['summary'];
type Ratio = Extract<Summary['scopes'][number]['ratios'][number]['ratio'], { known: true }>['figure'];
type Share = NonNullable<Summary['shares'][number]['share']>;
type Leakage = NonNullable<Summary['roster'][number]['whole']>;

const share = (value: number): string => `${limitNumber(100 * value, 3)}\u00a0%`;
/** A name of several words is set in quotes, so that it ends somewhere. */
const named = (ensemble: string): string => (ensemble.includes(' ') ? `“${ensemble}”` : ensemble);
const times = (value: number): string => significant(value, 2);

export const studyWords = {
  opening: (file: string) => `Gathering the trials of ${file}`,
  compare: 'Compare',
  compareStudy: (name: string) => `Compare the ensembles of ${name}`,
  counts: ({ counted, trials, subjects, flagged }: Summary['counts']) =>
    [
      `${counted} of ${trials === 1 ? '1 trial' : `${trials} trials`} in the figures`,
      subjects === 1 ? '1 subject' : `${subjects} subjects`,
      ...(flagged > 0 ? [`${flagged} flagged`] : []),
    ].join(' · '),
  readAgain: 'Read again',
  worst: 'Highest trial',
  plan: 'Plan a trial',

  /** What a person takes away. Only what an interval shows is said. */
  statement: (ratio: Ratio, confidence: number): string => {
    const [upper, lower] = [named(ratio.upper), named(ratio.lower)];
    const sure = `${times(ratio.low)} to ${times(ratio.high)}, ${share(confidence)} sure`;
    if (ratio.low > 1) return `${upper} leaks ${times(ratio.ratio)} times as much as ${lower} (${sure}).`;
    if (ratio.high < 1) {
      const [low, high] = [times(1 / ratio.high), times(1 / ratio.low)];
      const back = `${low} to ${high}, ${share(confidence)} sure`;
      return `${lower} leaks ${times(1 / ratio.ratio)} times as much as ${upper} (${back}).`;
    }
    return `${upper} and ${lower} are not told apart: × ${times(ratio.ratio)} (${sure}).`;
  },
  pairsOf: (ratio: Ratio): string => {
    const means = `ratio of geometric means of these ${ratio.subjects} subjects`;
    if (ratio.method === 'unpaired') return `${means}, of whom nobody wore both`;
    const paired = `${means}, paired`;
    return ratio.method === 'paired' ? paired : `${paired}, ${ratio.below} below the limit: approximate`;
  },
  oneEnsemble: (name: string) => `One ensemble so far, ${name}: nothing to compare it with.`,
  noRatio: (because: string) => `No ratio over the whole trial. ${because}`,
  nothingTitle: 'No trial is in the figures yet',
  nothingText: 'A trial counts once it is sealed and assessed. What stands in the way of each is in the list below.',

  picture: (name: string) => `Leakage of every trial of ${name} by ensemble, whole and by probe, on a log axis`,
  whole: 'Whole trial',
  legend: (confidence: number) =>
    `a mark is a trial, a line joins a subject; bar: geometric mean, ${share(confidence)} interval`,
  legendProbes: 'filled: first ensemble, hollow: second',
  ratioHead: (upper: string | null, lower: string) => `${upper ?? '…'} leaks … times ${lower}`,
  less: 'leaks less',
  more: 'more',
  axis: 'Inward leakage, % of the challenge, log scale',
  detectionLimit: 'detection limit',
  below: (count: number) => `${count} below`,
  requirement: (percent: number) => `requirement ${limitNumber(percent, 3)} %`,
  mean: (percent: number) => `${percentNumber(percent)} %`,
  ratio: (ratio: number) => `× ${times(ratio)}`,
  ratioRange: (low: number, high: number) => `${times(low)} to ${times(high)}`,
  noRatioShort: 'no ratio',
  tick: (value: number) => limitNumber(value, 2),
  chooseTrial: 'Point at a mark to see whose it is; press it to open the trial.',
  chosen: (subject: string, ensemble: string, leakage: string) => `${subject} in ${ensemble}: ${leakage}`,
  flaggedCells: (flagged: number, cells: number) => `${flagged} of ${cells} cells flagged`,
  reviewed: ({ person, leftOut }: { readonly person: string; readonly leftOut: number }) =>
    leftOut === 0 ? `by reviewer ${person}` : `by reviewer ${person}, ${leftOut} left out`,
  released: (person: string) => `released by ${person}`,
  checks: (names: readonly string[]) =>
    `check overdue or failed: ${names.slice(0, 2).join('; ')}` +
    (names.length > 2 ? ` and ${names.length - 2} more` : ''),
  missingCells: (missing: number) => (missing === 1 ? '1 cell missing' : `${missing} cells missing`),

  know: 'What to know',
  limitTitle: (percent: number) => `Whole trial ≤ ${limitNumber(percent, 3)} %`,
  noLimitTitle: 'What wearers stay below',
  passed: (ensemble: string, passed: number, count: number) => `${ensemble}: ${passed} of ${count}`,
  noneTold: (ensemble: string) => `${ensemble}: none can be told`,
  ofWearers: ({ passed, atLeast, high }: Share, confidence: number) =>
    passed === 0
      ? `At most ${share(high)} of such wearers, ${share(confidence)} sure.`
      : `At least ${share(atLeast)} of such wearers, ${share(confidence)} sure.`,
  exceeding: (subjects: readonly string[]) =>
    `Above it: ${subjects.slice(0, 8).join(', ')}${subjects.length > 8 ? ` and ${subjects.length - 8} more` : ''}.`,
  open: (count: number, isBounded: boolean) =>
    `Of ${count === 1 ? '1 subject' : `${count} subjects`} it cannot be told` +
    (isBounded ? '; the bound holds either way.' : '.'),
  tolerance: (percent: number, coverage: number, confidence: number) =>
    `Below ${percentNumber(percent)} % for ${share(coverage)} of such wearers, ${share(confidence)} sure ` +
    'if leakage is lognormal.',
  noTolerance: (because: string) => `No tolerance limit. ${because}`,
  components: 'Where the scatter comes from',
  componentsText: 'Whole trials, as factors: two thirds lie within it, up or down.',
  component: {
    ensemble: 'ensembles',
    subject: 'subjects',
    interaction: 'subject with ensemble',
    trial: 'trial to trial',
    trialAndInteraction: 'trial to trial, with the interaction',
  },
  factor: (variance: number) => `× ${significant(Math.exp(Math.sqrt(variance)), 3)}`,
  noComponents: (because: string) => because,

  roster: 'Trials',
  rosterLabel: 'Trials of the study with their leakage, percent of the challenge',
  unit: '% IL',
  subject: 'Subject',
  ensemble: 'Ensemble',
  standing: 'Standing',
  leftOut: {
    void: 'void',
    'no-result': 'no value',
    'not-assessed': 'not assessed',
    virtual: 'virtual, left out',
    'not-above-zero': 'not above zero',
    'what-if': 'left out: what-if',
  },
  notSealed: 'not sealed',
  voided: ({ person, reason }: { readonly person: string; readonly reason: string }) => `void by ${person}: ${reason}`,
  open_: (subject: string, ensemble: string) => `Open the trial of ${subject} in ${ensemble}`,
  leakage: (leakage: Leakage | null): string =>
    leakage === null ? '–' : `${leakage.below ? '< ' : ''}${percentNumber(leakage.percent)}`,
  byLeakage: 'Highest first',
  byTime: 'In order',
  showAll: (count: number) => `Show all ${count}`,
};
