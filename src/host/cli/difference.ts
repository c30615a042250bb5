import type { AssessmentDifference, ValueDifference } from '../../leakage/difference.ts';
import { flagName } from '../../leakage/flag-words.ts';
import { stretchInWords, takenInWords } from '../../leakage/left-out-words.ts';
import { significant } from '../../model/number-text.ts';
import { readDifference } from '../compute/difference-job.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command } from './command.ts';
import { noteAltered } from './note-altered.ts';
import { formatPercent, formatTable } from './table.ts';

export const differenceCommand: Command = {
  name: 'difference',
  summary: 'hold two assessments of a trial against each other, value by value',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
    { name: 'from', value: 'ID', help: 'assessment, or its place in `assess --list`; default the one before' },
    { name: 'to', value: 'ID', help: 'the other one; default the newest' },
  ],
  notes: [
    'Change is in percent of the value before, and as a multiple of the half width of the wider of the two intervals',
    'of the air seen: above 1 the change is larger than the doubt that was stated. The interval of the whole exercise,',
    'in which all values of a trial have a part, is told apart.',
    'Exit status 0: compared, whether they differ or not. 1: there are no two, or the trial is not what was recorded.',
  ],
  run(values, output) {
    const study = values.text('study');
    const { trial } = chosenTrial(study, values.optional('trial'));
    const found = readDifference(study, trial, values.optional('from') ?? null, values.optional('to') ?? null);
    const intact = noteAltered(study, trial, output);
    if (values.json) output.line(JSON.stringify({ program: programVersion, intact, ...found }));
    else output.line(formatDifference(found));
    return Promise.resolve(intact ? 0 : 1);
  },
};

function formatDifference(found: AssessmentDifference): string {
  const { after, before, cells, cellsChanged, exercises, leftOut, method, overall, probes } = found;
  const changed = cells.filter(({ same }) => !same);
  const columns = ['value', 'before, %', 'after, %', 'change, %', 'of its doubt', 'flags'].map((heading, index) => ({
    heading,
    align: index === 0 || index === 5 ? ('left' as const) : ('right' as const),
  }));
  const taus = found.timeConstantSeconds;
  return [
    sideText('before', before),
    sideText('after', after),
    '',
    ...method.map((one) => `method ${one.field}: ${String(one.before ?? '–')} → ${String(one.after ?? '–')}`),
    ...(taus === null ? [] : [`time constant used, s: ${secondsText(taus.before)} → ${secondsText(taus.after)}`]),
    ...leftOut.gained.map((one) => `left out now: ${stretchInWords(one)} (${takenInWords(one)}): ${one.reason}`),
    ...leftOut.lost.map((one) => `left out no more: ${stretchInWords(one)}: ${one.reason}`),
    `${cellsChanged} of ${cells.length} values differ.`,
    ...(found.exerciseIntervalsChanged === 0 ? [] : [wholeText(found)]),
    '',
    formatTable(columns, [
      ...changed.map((one) => rowOf(`${one.exercise} ${one.probe}`, one)),
      ...probes.filter(({ same }) => !same).map((one) => rowOf(`mean of ${one.probe}`, one)),
      ...exercises.filter(({ same }) => !same).map((one) => rowOf(`mean of ${one.exercise}`, one)),
      rowOf('mean of the trial', overall),
    ]),
  ].join('\n');
}

function sideText(name: string, side: AssessmentDifference['before']): string {
  const who = side.review === null ? '' : `, by ${side.review.person}: ${side.review.reason}`;
  return `${name}: ${side.position}, ${side.assessment}, ${side.createdAt}, Chamberside ${side.program}${who}`;
}

function rowOf(name: string, one: ValueDifference): string[] {
  const { afterPercent, beforePercent, changePercent, flagsGained, flagsLost, ofStatedUncertainty } = one;
  const gained = flagsGained.map((flag) => `+ ${flagName(flag)}`);
  const flags = [...gained, ...flagsLost.map((flag) => `− ${flagName(flag)}`)];
  return [
    name,
    formatPercent(beforePercent),
    formatPercent(afterPercent),
    changePercent === null ? '–' : significant(changePercent, 2),
    ofStatedUncertainty === null ? '–' : significant(ofStatedUncertainty, 2),
    flags.join(', '),
  ];
}

/** The interval of the whole exercise rests on all values of a trial: it may differ where nothing else does. */
function wholeText({ cells, exerciseIntervalsChanged, overall }: AssessmentDifference): string {
  const interval = (low: number | null, high: number | null): string =>
    low === null || high === null ? 'none' : `${formatPercent(low)} to ${formatPercent(high)} %`;
  const before = interval(overall.beforeExerciseLowPercent, overall.beforeExerciseHighPercent);
  const after = interval(overall.afterExerciseLowPercent, overall.afterExerciseHighPercent);
  return (
    `The interval of the whole exercise differs for ${exerciseIntervalsChanged} of ${cells.length} values; ` +
    `for the mean of the trial: ${before} → ${after}.`
  );
}

function secondsText(seconds: number | null): string {
  return seconds === null ? 'as the rig states it' : significant(seconds, 4);
}
