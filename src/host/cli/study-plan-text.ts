import { likelyShare, mostSubjects } from '../../study/plan/power.ts';
import type { StudyPlan } from './study-plan.ts';
import { formatTable } from './table.ts';

/** A plan for a person: what is asked, what it needs, what numbers buy, and who wears what in which order. */
export function formatStudyPlan(plan: StudyPlan): string {
  const { scatter, shownBy } = plan;
  return [
    `Plan of a study of ${plan.ensembles.join(', ')}: ${designWords(plan)}`,
    `Expected scatter, as geometric deviations: subject to subject × ${two(scatter.subject)}, subject with ensemble ` +
      `× ${two(scatter.interaction)}, trial to trial × ${two(scatter.trial)} ` +
      (shownBy === null
        ? '(given)'
        : `(as ${shownBy.name} has shown, whole trials of ${shownBy.subjects} subjects who wore all)`),
    ...(shownBy?.marks ?? []).map((text) => `  ! ${text}`),
    '',
    ...(plan.ensembles.length > 1 ? contrastLines(plan) : []),
    'What a number of subjects buys, if the scatter is as expected:',
    curveTable(plan),
    '  ratio, mean: half of the interval, from the value divided by this to the value times this; wide: not wider in ' +
      `${10 * likelyShare} of 10 studies`,
    ...limitLines(plan),
    '',
    ...allocationLines(plan),
  ].join('\n');
}

function designWords({ design, trials }: StudyPlan): string {
  const each = trials === 1 ? '1 trial each' : `${trials} trials each`;
  return design === 'crossed'
    ? `every subject wears every ensemble, ${each}`
    : `each subject wears one ensemble, ${each}; subjects are counted in each ensemble`;
}

function contrastLines(plan: StudyPlan): string[] {
  const { ratio, chance, confidence, needed, ensembles, trials } = plan;
  const together = ensembles.length > 2 ? 'of all ratios together' : 'of the ratio';
  const wanted = `To tell a ratio of ${ratio} from 1, ${share(confidence)} sure ${together}, with a chance of `;
  if (needed === null) return [`${wanted}${share(chance)}: more than ${mostSubjects} subjects.`, ...width(plan), ''];
  const all = needed.subjects * ensembles.length * trials;
  return [`${wanted}${share(chance)}: ${needed.subjects} subjects${inEach(plan)}, ${all} trials.`, ...width(plan), ''];
}

function width(plan: StudyPlan): string[] {
  if (plan.width === undefined) return [];
  const { halfWidth, needed } = plan.width;
  const found = needed === null ? `more than ${mostSubjects} subjects` : `${needed.subjects} subjects${inEach(plan)}`;
  return [`To know it to × ÷ ${two(halfWidth)} or better in ${10 * likelyShare} of 10 studies: ${found}.`];
}

function inEach({ design }: StudyPlan): string {
  return design === 'crossed' ? '' : ' in each ensemble';
}

function curveTable({ curve, subjects, ensembles }: StudyPlan): string {
  const compares = ensembles.length > 1;
  return formatTable(
    [
      { heading: 'subjects', align: 'right' },
      ...(compares
        ? ([
            { heading: 'chance', align: 'right' },
            { heading: 'ratio', align: 'right' },
            { heading: 'wide', align: 'right' },
          ] as const)
        : []),
      { heading: 'mean', align: 'right' },
      { heading: '', align: 'left' },
    ],
    curve.map((row) => [
      String(row.subjects),
      ...(compares ? [share(row.power), `× ÷ ${two(row.halfWidth)}`, `× ÷ ${two(row.likelyHalfWidth)}`] : []),
      `× ÷ ${two(row.mean)}`,
      row.subjects === subjects ? 'this plan' : '',
    ]),
  );
}

const noneKeeps = 'no number up to 300, or as far as it can be computed';

function limitLines({ limit, forShare, share: asked, chance, subjects, trials }: StudyPlan): string[] {
  const [none, one, two_] = forShare.map((count) => (count === null ? `more than ${mostSubjects}` : String(count)));
  const sure = `${share(asked.share)} of such wearers, ${share(asked.confidence)} sure`;
  return [
    '',
    ...(limit === null
      ? []
      : [
          `A tolerance limit (${sure}) below ${limit.limitPercent} %, if the geometric mean is ${limit.meanPercent} ` +
            `%, with a chance of ${share(chance)}: ` +
            `${limit.needed === null ? noneKeeps : `${limit.needed.subjects} subjects`}; ` +
            (limit.chance.known
              ? `with ${subjects} the chance is ${share(limit.chance.figure)}.`
              : `with ${subjects} it cannot be said. ${limit.chance.because}`),
        ]),
    ...(trials === 1
      ? []
      : ['  Share of wearers: by the geometric mean of all trials of each of them, not by every single trial.']),
    `To prove by counting that a limit is kept by ${sure}: ${none} subjects who all keep it, ${one} with one who ` +
      `does not, ${two_} with two.`,
  ];
}

function allocationLines({ allocation, seed, design }: StudyPlan): string[] {
  if (!allocation.known) return [`No allocation: ${allocation.because}`];
  const { subjects, positionImbalance, neighbourImbalance } = allocation.figure;
  const rule = design === 'crossed' ? 'rows of Williams squares in random order' : 'permuted blocks';
  const after = neighbourImbalance === null ? '' : `, one after the other ${share(neighbourImbalance)}`;
  const balance = `ensembles over positions ${share(positionImbalance)}${after}`;
  return [
    `Allocation by ${rule}, seed ${seed}:`,
    ...subjects.map(({ subject, order }) => `  ${subject}  ${order.join(' | ')}`),
    `  residual imbalance: ${balance}`,
  ];
}

function share(value: number): string {
  // 100 % is a certainty, and a chance below it is none.
  const percent = 100 * value;
  if (percent > 99.9 && percent < 100) return '> 99.9 %';
  return `${Number(percent.toFixed(1))} %`;
}

function two(value: number): string {
  return value >= 100 ? value.toFixed(0) : value.toFixed(2);
}
