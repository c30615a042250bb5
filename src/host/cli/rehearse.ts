import { rehearse, type RehearsalProgress, type RehearsalResult } from '../rehearsal/rehearse.ts';
import { shippedScenarios } from '../rig/offers.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { codeSchema, ensembleNameSchema } from '../../model/identity.ts';
import { toSeconds } from '../../model/time.ts';
import { formatAssessment } from './cell-table.ts';
import {
  codeWords,
  ensembleWords,
  type Command,
  type OptionValues,
  type Output,
} from './command.ts';
import { cellsNamed, missingCells, noteExit } from './note-doubt.ts';
import { formatPercent } from './table.ts';

export const rehearseCommand: Command = {
  name: 'rehearse',
  summary: 'run a whole trial on the virtual rig and hold its result against the truth',
  options: [
    {
      name: 'study',
      value: 'FILE',
      help: 'study file, made when missing in a folder that is there, default rehearsal.chamberside',
    },
    { name: 'scenario', value: 'NAME', help: `${shippedScenarios.join(', ')}, or a file, default demo` },
    { name: 'seed', value: 'N', help: 'whole number from 0, default 1: the same seed, the same physics' },
    { name: 'speed', value: 'X', help: 'multiple of real time, 0.1 to 100000, default as fast as it goes' },
    {
      name: 'wire',
      value: 'KIND',
      help: 'none (in this process), pty or tcp (a rig process, in real time), default none',
    },
    { name: 'resume', value: null, help: "go on with the study's unfinished rehearsal, held, after a fresh lead-in" },
    { name: 'subject', value: 'CODE', help: 'code of the subject, 1 to 20 letters, digits, . - _, default S01' },
    { name: 'ensemble', value: 'NAME', help: 'what the subject wears, at most 80 characters, default A' },
    { name: 'operator', value: 'CODE', help: 'code of who runs it, default rehearsal' },
    { name: 'heart-rate-limit', value: 'N', help: 'alarm above this many per minute, 40 to 250, default 180' },
    { name: 'progress', value: null, help: 'a line of JSON on standard error after every commit' },
  ],
  notes: [
    'The truth lies beside the study in a file of its own, which the assessment never reads.',
    'Ctrl-C leaves the trial unfinished; --resume goes on with it.',
    'Exit status 0: every cell has a value, and the unflagged ones, at least one, agree with the truth. 1: not so.',
  ],
  async run(values, output) {
    const wire = values.oneOf('wire', ['none', 'pty', 'tcp'] as const, 'none');
    if (wire !== 'none' && values.has('speed')) {
      throw new ChambersideError(
        'usage-bad-value',
        'real wires run in real time',
        '--speed',
        'Leave --speed out, or --wire.',
      );
    }
    const interruption = new AbortController();
    const interrupt = (): void => interruption.abort();
    process.once('SIGINT', interrupt);
    process.once('SIGTERM', interrupt);
    const progress = progressOf(values, output);
    try {
      const result = await rehearse({
        studyPath: values.optional('study') ?? 'rehearsal.chamberside',
        wire,
        scenario: values.optional('scenario') ?? null,
        seed: values.has('seed')
          ? values.wholeNumber('seed', { least: 0, most: Number.MAX_SAFE_INTEGER, otherwise: 1 })
          : null,
        speed: values.has('speed') ? values.number('speed', { least: 0.1, most: 100_000, otherwise: 1 }) : Infinity,
        resume: values.has('resume'),
        subject: values.fitting('subject', { schema: codeSchema, ...codeWords, otherwise: 'S01' }),
        ensemble: values.fitting('ensemble', { schema: ensembleNameSchema, ...ensembleWords, otherwise: 'A' }),
        operator: values.fitting('operator', { schema: codeSchema, ...codeWords, otherwise: 'rehearsal' }),
        heartRateLimit: values.number('heart-rate-limit', { least: 40, most: 250, otherwise: 180 }),
        ...(progress === null ? {} : { onProgress: progress }),
        interruption: interruption.signal,
      });
      report(result, values, output);
      const against = doubts(result);
      noteExit(against, output);
      return against.length === 0 ? 0 : 1;
    } finally {
      process.off('SIGINT', interrupt);
      process.off('SIGTERM', interrupt);
    }
  },
};

/** Everything that makes the exit status 1, in words; nothing: 0. */
function doubts({ cells }: RehearsalResult): string[] {
  const missing = missingCells(cells);
  const off = cells.filter((cell) => !cell.flagged && cell.withinTolerance === false);
  // Nothing that could be held against the truth is no agreement with it.
  const usable = cells.some((cell) => !cell.flagged && cell.withinTolerance !== null);
  const doubtful = cells.filter((cell) => cell.flagged && cell.windowPercent !== null);
  const named = (some: typeof cells): string => (some.length === 0 ? '' : `: ${cellsNamed(some)}`);
  return [
    ...(missing === null ? [] : [missing]),
    ...(off.length === 0 ? [] : [`${off.length} of ${cells.length} cells do not agree with the truth${named(off)}`]),
    ...(usable ? [] : [`no cell without doubt can be held against the truth${named(doubtful)}`]),
  ];
}

/** Milliseconds between two lines for a person. */
const personIntervalMilliseconds = 500;

function progressOf(values: OptionValues, output: Output): ((progress: RehearsalProgress) => void) | null {
  if (values.has('progress')) return (progress) => output.note(JSON.stringify(progress));
  if (!output.interactive) return null;
  let shownAt = 0;
  return (progress) => {
    const now = Date.now();
    if (now - shownAt < personIntervalMilliseconds) return;
    shownAt = now;
    const where =
      progress.exercise === null
        ? ''
        : `, exercise ${progress.exerciseNumber} of ${progress.exercises}: ${progress.exercise}`;
    output.note(`${clockText(toSeconds(progress.throughMicroseconds))} recorded${where}`);
  };
}

function clockText(seconds: number): string {
  return `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, '0')}`;
}

function report(result: RehearsalResult, values: OptionValues, output: Output): void {
  const { assessment, cells } = result;
  if (values.json) {
    output.line(
      JSON.stringify({
        trialId: result.trial,
        virtual: true,
        scenario: result.scenario,
        seed: result.seed,
        wire: result.wire,
        truthFile: result.truthPath,
        counts: result.counts,
        bytes: result.bytes,
        trialSeconds: result.trialSeconds,
        realSeconds: result.realSeconds,
        timesRealTime: result.trialSeconds / result.realSeconds,
        seal: result.seal,
        assessmentId: result.assessmentId,
        cells: cells.map(({ parts: _parts, ...cell }) => cell),
        probes: assessment.probes,
        overall: assessment.overall,
        flags: assessment.flags,
      }),
    );
    return;
  }
  const compared = cells.filter((cell) => cell.withinTolerance !== null && !cell.flagged);
  const within = compared.filter((cell) => cell.withinTolerance === true).length;
  output.line('VIRTUAL RIG: a rehearsal, no result of a real ensemble.');
  output.line(
    `trial ${result.trial}, scenario ${result.scenario}, seed ${result.seed}: ` +
      `${clockText(result.trialSeconds)} of trial in ${result.realSeconds.toFixed(1)} s ` +
      `(${Math.round(result.trialSeconds / result.realSeconds)} × real time)`,
  );
  output.line('');
  output.line(formatAssessment(assessment));
  output.line('');
  output.line(
    `Against the truth: ${within} of ${compared.length} unflagged cells within 8 % or three detection limits; ` +
      `overall ${formatPercent(assessment.overall.windowPercent)} %, truth ${formatPercent(meanTruth(cells))} %.`,
  );
  output.line(
    `${result.counts.readings} readings, ${result.counts.dwells} dwells, ${result.counts.problems} problems, ` +
      `${result.counts.alarms} alarms. ` +
      `Sealed with head ${result.seal.head.slice(0, 16)}… after ${result.seal.count} links.`,
  );
}

function meanTruth(cells: RehearsalResult['cells']): number | null {
  const known = cells.flatMap((cell) => (cell.truthPercent === null ? [] : [cell.truthPercent]));
  return known.length === 0 ? null : known.reduce((sum, value) => sum + value, 0) / known.length;
}
