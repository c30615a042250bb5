import type { ScopeSummary } from './study-summary.ts';
import { checkWords, unreleasedWords, type RosterRow } from './study-trial.ts';

/** What whoever reads the figures must know, with its sentence. Shown wherever they are shown. */
export interface StudyMark {
  readonly mark:
    | 'what-if'
    | 'virtual'
    | 'virtual-left-out'
    | 'flagged'
    | 'missing'
    | 'continued'
    | 'check-not-valid'
    | 'reviewed'
    | 'not-released'
    | 'void'
    | 'no-result'
    | 'not-assessed'
    | 'not-above-zero'
    | 'methods-differ'
    | 'few-subjects'
    | 'below-limit';
  readonly text: string;
}

/** Below this number of subjects an interval is given and marked; house rule, no source. */
export const fewSubjects = 6;

export function studyMarks(roster: readonly RosterRow[], scopes: readonly ScopeSummary[]): StudyMark[] {
  const counted = roster.filter(({ leftOut }) => leftOut === null);
  const marks: StudyMark[] = [];
  const say = (mark: StudyMark['mark'], when: boolean, text: string): void => {
    if (when) marks.push({ mark, text });
  };
  const out = (why: RosterRow['leftOut']): number => roster.filter(({ leftOut }) => leftOut === why).length;
  say('what-if', out('what-if') > 0, `What-if: ${trials(out('what-if'))} left out to see what hangs on it.`);
  say('virtual', counted.some(({ virtual }) => virtual), 'Virtual rig: no result of a real ensemble.');
  say('virtual-left-out', out('virtual') > 0, `${trials(out('virtual'))} of the virtual rig left out.`);
  const flagged = counted.filter(({ cellsFlagged }) => cellsFlagged > 0).length;
  say('flagged', flagged > 0, `${flagged} of ${trials(counted.length)} rest on flagged cells.`);
  const missing = counted.filter(({ cellsMissing }) => cellsMissing > 0).length;
  say('missing', missing > 0, `${missing} of ${trials(counted.length)} lack cells; their means are of the others.`);
  const continued = counted.filter(({ continues }) => continues).length;
  say(
    'continued',
    continued > 0,
    `${continued} of ${trials(counted.length)} go on where another was stopped: their means are of later exercises, ` +
      'and neither counts as a repeat.',
  );
  const resting = counted.filter(({ doubtfulChecks }) => doubtfulChecks.length > 0);
  const checks = [...new Set(resting.flatMap(({ doubtfulChecks }) => doubtfulChecks))];
  say(
    'check-not-valid',
    resting.length > 0,
    `${resting.length} of ${trials(counted.length)} rest on ${checkWords(checks)}.`,
  );
  const reviewed = counted.flatMap(({ review }) => (review === null ? [] : [review]));
  const people = [...new Set(reviewed.map(({ person }) => person))].join(', ');
  const cut = reviewed.filter(({ leftOut }) => leftOut > 0).length;
  say(
    'reviewed',
    reviewed.length > 0,
    `${reviewed.length} of ${trials(counted.length)} count as a reviewer had them assessed: ${people}` +
      `${cut === 0 ? '' : `; of ${cut} something is left out`}.`,
  );
  const unreleased = unreleasedWords(counted);
  say('not-released', unreleased !== null, `${unreleased ?? ''}.`);
  say('void', out('void') > 0, `${trials(out('void'))} made void by a reviewer: in no figure and no verdict.`);
  say('no-result', out('no-result') > 0, `${trials(out('no-result'))} not sealed, or without any value.`);
  say('not-assessed', out('not-assessed') > 0, `${trials(out('not-assessed'))} sealed and not assessed.`);
  say(
    'not-above-zero',
    out('not-above-zero') > 0,
    `${trials(out('not-above-zero'))} with a mean of zero or less and no known detection limit: in no mean, no ratio.`,
  );
  const methods = new Set(counted.map(({ method }) => method));
  say('methods-differ', methods.size > 1, `Assessed by ${methods.size} methods: ${[...methods].join('; ')}.`);
  const few = scopes[0]?.ensembles.filter(({ subjects }) => subjects < fewSubjects) ?? [];
  const named = few.map(({ ensemble, subjects }) => `${ensemble} ${subjects}`).join(', ');
  const fewText = `Few subjects: ${named}. Their intervals are wide, and whether leakage is lognormal cannot be seen.`;
  say('few-subjects', few.length > 0, fewText);
  const below = scopes.filter(({ ensembles }) =>
    ensembles.some(({ summary }) => summary.known && summary.figure.below > 0),
  );
  say(
    'below-limit',
    below.length > 0,
    `Values below the detection limit at ${below.map(({ probe }) => probe ?? 'the whole trial').join(', ')}: ` +
      'fitted by maximum likelihood, intervals approximate.',
  );
  return marks;
}

function trials(count: number): string {
  return count === 1 ? '1 trial' : `${count} trials`;
}
