import { ChambersideError } from '../model/error-code.ts';
import type { Method } from '../model/method.ts';
import { probePorts } from '../model/rig.ts';
import type { TrialEvent } from '../model/trial-event.ts';
import { streamOf } from '../model/trial-record.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import { doubtfulCertificates } from '../model/certificate.ts';
import { doubtfulChecks } from '../model/supporting-check.ts';
import { adaptSettling } from './adapt-settling.ts';
import type { Assessment, DwellMean } from './assessment.ts';
import { markBlockedLines } from './blocked-lines.ts';
import { slicesOfTrial, widestSlice, withExercise } from './budget/exercise.ts';
import { freedomOf } from './budget/freedom.ts';
import type { LineFreedom } from './budget/uncertainty.ts';
import { breathFlowOf } from './breathing-zone.ts';
import { certifiedRig } from './certified.ts';
import { dwellsOfCell, makeCell } from './cell.ts';
import type { AssessedCell } from './cell.ts';
import { meanOfCells } from './cell-mean.ts';
import { markChanged } from './changed-by-leaving-out.ts';
import { flagsOf } from './doubt.ts';
import { dwellMean, problemsOfReadings, readDwell, wasRead } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import type { Flag } from './flag.ts';
import { orderFlags } from './flag.ts';
import { arrivalOf } from './left-out.ts';
import type { LeftOut, LeftOutOfTrial } from './left-out.ts';
import { limitFactor } from './limit-factor.ts';
import { assessPart } from './part.ts';
import { prepareReadings, within } from './readings.ts';
import { recordedDwells } from './recorded-dwell.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import { usedTimeConstant } from './time-constant.ts';
import type { UsedTimeConstant } from './time-constant.ts';
import { trialInputs } from './trial-inputs.ts';
import type { TrialInputs } from './trial-inputs.ts';

/** An assessment with everything that its numbers were made from, as they were made. */
export interface Workings {
  readonly assessment: Assessment;
  readonly context: ReadingContext;
  readonly inputs: TrialInputs;
  readonly freedom: LineFreedom;
  /** In the order of the assessment's cells. */
  readonly cells: readonly AssessedCell[];
}

/**
 * Turns a recorded trial into inward leakage by a method. Pure: the same record, method and stretches give the same
 * bits; without stretches the same as if there were none to leave out.
 * One cell for each exercise of the series and each probe of the rig; a cell whose inputs are missing is null and
 * flagged.
 * @throws ChambersideError `record-insufficient` when the record holds no photometer readings or no dwells.
 */
export function assess(record: TrialRecord, method: Method, leftOut: readonly LeftOut[] = []): Assessment {
  return assessWithWorkings(record, method, leftOut).assessment;
}

/** The same, with the workings. @throws as `assess`. */
export function assessWithWorkings(
  record: TrialRecord,
  method: Method,
  leftOut: readonly LeftOut[] = [],
): Workings {
  const trial = seeTrial(record, method, leftOut);
  // Whatever a stretch changes elsewhere shows only beside the same trial without it.
  const whole = leftOut.length === 0 ? null : seeTrial(record, method, []);
  const { context, dwells, freedom, inputs, timeConstant } = trial;
  const { rig } = context;
  const seen = whole === null ? trial.cells : markChanged(trial.cells, whole.cells);
  const slices = slicesOfTrial(trial.cells, whole?.cells ?? null);
  const made = seen.map((cell) => withExercise(cell, slices));
  const cells = made.map(({ shown }) => shown);

  const flags = new Set<Flag>(flagsOf(inputs.doubts));
  if (doubtfulChecks(record.header.checks).length > 0) flags.add('check-not-valid');
  if (doubtfulCertificates(record.header.certificates).length > 0) flags.add('certificate-not-valid');
  for (const cell of cells) for (const flag of cell.flags) flags.add(flag);
  const shown = (sources: readonly ReadDwell[]): DwellMean[] =>
    sources.map((source) => dwellMean(source, context, inputs.blank));
  const assessment: Assessment = {
    trial: record.header.trial,
    virtual: record.header.virtual || rig.virtual,
    method: { name: method.name, version: method.version },
    ...(timeConstant === null ? {} : { timeConstant }),
    ...(leftOut.length === 0 ? {} : { leftOut: leftOut.map((one) => whatItTook(context, one, dwells)) }),
    readingUnit: trial.readingUnit,
    blank: inputs.blank,
    slice: widestSlice(slices),
    zeros: shown(inputs.zeros.map(({ dwell }) => dwell)),
    references: shown(inputs.references.map(({ dwell }) => dwell)),
    backgrounds: shown([...inputs.backgrounds.values()].map(({ dwell }) => dwell)),
    cells,
    probes: probePorts(rig).map(({ probe }) => ({
      probe,
      ...meanOfCells(
        made.filter(({ shown: cell }) => cell.probe === probe),
        freedom,
        slices,
      ),
    })),
    exercises: record.series.exercises.map(({ exercise }) => ({
      exercise,
      ...meanOfCells(
        made.filter(({ shown: cell }) => cell.exercise === exercise),
        freedom,
        slices,
      ),
    })),
    overall: meanOfCells(made, freedom, slices),
    flags: orderFlags(flags),
  };
  return { assessment, context, inputs, freedom, cells: made };
}

/** A trial read by a method, as far as each cell can be told by itself and by the others at its probe. */
interface SeenTrial {
  readonly readingUnit: string;
  readonly dwells: readonly RecordedDwell[];
  readonly context: ReadingContext;
  readonly timeConstant: UsedTimeConstant | null;
  readonly inputs: TrialInputs;
  readonly freedom: LineFreedom;
  /** Without what the whole exercise would add. */
  readonly cells: readonly AssessedCell[];
}

function seeTrial(record: TrialRecord, method: Method, leftOut: readonly LeftOut[]): SeenTrial {
  const { series, events } = record;
  const { inputs: certified, linearity, rig } = certifiedRig(record.rig, record.header.certificates);
  const stream = streamOf(record, rig.photometer, rig.photometerStream);
  const breathFlow = breathFlowOf(record, rig);
  const dwells = recordedDwells(events);
  if (stream === undefined || stream.values.length === 0 || dwells.length === 0) {
    throw new ChambersideError(
      'record-insufficient',
      dwells.length === 0 ? 'The trial has no dwells' : 'The trial has no photometer readings',
      `trial ${record.header.trial}`,
      'Nothing can be computed from it; check that the right trial was chosen.',
    );
  }
  const plain: ReadingContext = {
    rig,
    method,
    readings: prepareReadings(stream),
    segments: record.segments,
    problemsAtMicroseconds: problemTimes(events, rig.photometer),
    ...(linearity === undefined ? {} : { linearity }),
    ...(breathFlow === undefined ? {} : { breathFlow }),
    ...(leftOut.length === 0 ? {} : { leftOut }),
  };
  const { context, timeConstant } = settled(record, plain, dwells);
  const inputs = trialInputs(context, dwells);

  const assessed = series.exercises.flatMap((exercise) => {
    const attempt = lastAttempt(events, dwells, exercise.exercise);
    return probePorts(rig).map(({ probe }) => {
      const own = dwellsOfCell(dwells, exercise.exercise, probe, attempt);
      const parts = own.map((dwell) => assessPart(context, inputs, readDwell(context, dwell)));
      return { exercise, probe, attempt, parts };
    });
  });
  const freedom = freedomOf(inputs, certified);
  const limit = limitFactor(method, inputs.blank);
  const cells = markBlockedLines(context, inputs, assessed).map(({ exercise, probe, attempt, parts }) =>
    makeCell(exercise, probe, attempt, parts, limit, freedom),
  );
  return { readingUnit: stream.descriptor.unit, dwells, context, timeConstant, inputs, freedom, cells };
}

/** The context as the method wants dwells settled: for an adaptive one with the trial's own time constant. */
function settled(
  record: TrialRecord,
  context: ReadingContext,
  dwells: readonly RecordedDwell[],
): { readonly context: ReadingContext; readonly timeConstant: UsedTimeConstant | null } {
  const { settling } = context.method;
  if (settling.rule === 'fixed') return { context, timeConstant: null };
  const timeConstant = usedTimeConstant(record, context.leftOut);
  const known = { ...context, rig: { ...context.rig, timeConstantSeconds: timeConstant.seconds } };
  return { context: { ...known, settlingSeconds: adaptSettling(known, dwells, settling) }, timeConstant };
}

/** How much of the windows of a trial a stretch covers, whether another one covers it too or not. */
function whatItTook(context: ReadingContext, stretch: LeftOut, dwells: readonly RecordedDwell[]): LeftOutOfTrial {
  const without: ReadingContext = { ...context, leftOut: [] };
  const taken: number[] = [];
  let readings = 0;
  for (const recorded of dwells) {
    const dwell = readDwell(without, recorded);
    const arrival = wasRead(dwell) ? arrivalOf(stretch, context.rig, dwell.port) : null;
    if (!wasRead(dwell) || arrival === null) continue;
    const { first, end } = within(context.readings, arrival);
    const count = Math.min(end, dwell.span.end) - Math.max(first, dwell.span.first);
    if (count <= 0) continue;
    taken.push(recorded.dwell.dwell);
    readings += count;
  }
  return { ...stretch, dwells: taken, readings };
}

function lastAttempt(events: readonly TrialEvent[], dwells: readonly RecordedDwell[], exercise: string): number {
  let last = 0;
  for (const event of events) {
    if (event.kind === 'exercise-began' && event.exercise === exercise) last = Math.max(last, event.attempt);
  }
  for (const { dwell } of dwells) {
    if (dwell.purpose === 'probe' && dwell.exercise === exercise) last = Math.max(last, dwell.attempt);
  }
  return last;
}

function problemTimes(events: readonly TrialEvent[], photometer: string): number[] {
  const times: number[] = [];
  for (const event of events) {
    if (
      event.kind === 'problem' &&
      event.problem.instrument === photometer &&
      problemsOfReadings.has(event.problem.code)
    ) {
      times.push(event.problem.atMicroseconds);
    }
  }
  return times;
}
