import { limitFactor } from './limit-factor.ts';
import { ChambersideError } from '../model/error-code.ts';
import type { Method } from '../model/method.ts';
import { toSeconds } from '../model/time.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import type { Unit } from '../model/unit.ts';
import { commonDelayMicroseconds, fullDelayMicroseconds } from './alignment.ts';
import type { AnchoredValue } from './anchors.ts';
import { assessWithWorkings } from './assess.ts';
import type { Workings } from './assess.ts';
import type { CellPart } from './assessment.ts';
import type { BreathedWindow } from './breathing-zone.ts';
import { certifiedRig } from './certified.ts';
import { checkBudget } from './budget/check.ts';
import { coverageFactor } from './budget/uncertainty.ts';
import type { AssessedCell } from './cell.ts';
import { dwellMean, singleReadingNoise } from './dwell-reading.ts';
import type { Piece, ReadDwell, ReadingContext } from './dwell-reading.ts';
import type {
  ExplainedAnchor,
  ExplainedBreathing,
  ExplainedBudget,
  ExplainedPart,
  ExplainedPiece,
  ExplainedWindow,
  Explanation,
} from './explanation.ts';
import { castsDoubt, flagMeanings } from './flag.ts';
import { lengthOfMean, readingShares } from './lag.ts';
import type { LeftOut } from './left-out.ts';
import type { AssessedPart } from './part.ts';
import { within } from './readings.ts';
import type { Span } from './readings.ts';
import { guardMicroseconds } from './window.ts';

/** The same cell is drawn the same way every time. */
const drawSeed = 1;

/** A cell by the names of its exercise and its probe. */
export interface CellPlace {
  readonly exercise: string;
  readonly probe: string;
}

/**
 * Explains one cell of a trial: every number is the one that the assessment computed on its way, none is computed
 * beside it.
 * @param draws of the Monte Carlo check of the budget, 0: none, else at least 1000. Always of the same seed.
 * @throws ChambersideError `cell-not-found`, and as `assess`.
 */
export function explainCell(
  record: TrialRecord,
  method: Method,
  place: CellPlace,
  draws = 0,
  leftOut: readonly LeftOut[] = [],
): Explanation {
  return explainFrom(record, method, assessWithWorkings(record, method, leftOut), place, draws);
}

/** The same from workings that exist already. @param workings of this record by this method. */
export function explainFrom(
  record: TrialRecord,
  method: Method,
  workings: Workings,
  place: CellPlace,
  draws = 0,
): Explanation {
  const { rig, series } = record;
  const { assessment, context, inputs } = workings;
  const cell = workings.cells.find(({ shown }) => shown.exercise === place.exercise && shown.probe === place.probe);
  const exercise = series.exercises.find((candidate) => candidate.exercise === place.exercise);
  const port = rig.ports.find((candidate) => candidate.probe === place.probe);
  if (cell === undefined || exercise === undefined || port === undefined) throw noSuchCell(workings, place);
  const { shown } = cell;
  const { blank } = inputs;
  return {
    trial: assessment.trial,
    virtual: assessment.virtual,
    exercise: place.exercise,
    exerciseName: exercise.name,
    probe: place.probe,
    probeLabel: port.label,
    attempt: shown.attempt,
    readingUnit: assessment.readingUnit as Unit,
    method,
    ...explainCertificates(record),
    ...(assessment.leftOut === undefined ? {} : { leftOut: assessment.leftOut.map((one) => ({ ...one })) }),
    rig: {
      name: rig.name,
      version: rig.version,
      // The one that was computed with, which may be the trial's own.
      timeConstantSeconds: context.rig.timeConstantSeconds,
      commonDispersionSeconds: rig.commonDispersionSeconds,
      resolution: context.readings.resolution,
    },
    scatter:
      blank === null
        ? null
        : {
            zeros: inputs.zeros.map(({ dwell }) => dwell.recorded.dwell.dwell),
            readings: blank.readings,
            standardDeviation: blank.standardDeviation,
            singleReading: singleReadingNoise(blank, context.readings.resolution),
            autocorrelationSum: blank.autocorrelationSum,
            degreesOfFreedom: blank.degreesOfFreedom,
          },
    windowPercent: shown.windowPercent,
    budget: explainBudget(cell),
    budgetGaps: [...shown.budgetGaps],
    drawn: draws === 0 ? null : checkBudget(cell, workings.freedom, draws, drawSeed),
    wholeExercise: explainWhole(cell),
    detectionLimitPercent: shown.detectionLimitPercent,
    limitFactor: limitFactor(workings.context.method, workings.inputs.blank),
    belowDetectionLimit: shown.flags.includes('below-detection-limit'),
    flagged: shown.flagged,
    flags: shown.flags.map((flag) => ({ flag, meaning: flagMeanings[flag], doubtful: castsDoubt([flag]) })),
    doubts: [...cell.doubts],
    parts: cell.parts.map((part, index) => explainPart(part, cell.weights[index] ?? 0)),
    windows: windowsOf(cell).map((dwell) => explainWindow(workings, dwell)),
  };
}

function explainCertificates({ header, rig }: TrialRecord): Pick<Explanation, 'certificates'> {
  const { certificates } = header;
  if (certificates === undefined) return {};
  const { inputs } = certifiedRig(rig, certificates);
  return {
    certificates: certificates.map((one) => {
      const found = inputs.find(({ from }) => from === one);
      return { ...one, input: found?.input ?? null, rigStates: found?.rigStates ?? null };
    }),
  };
}

function explainBudget({ contributions, shown }: AssessedCell): ExplainedBudget | null {
  const { degreesOfFreedom, windowExpandedPercent, windowHighPercent, windowLowPercent, windowStandardPercent } = shown;
  if (contributions === null || windowStandardPercent === null) return null;
  if (windowExpandedPercent === null || windowLowPercent === null || windowHighPercent === null) return null;
  const inputs = [...contributions.values()];
  return {
    standardPercent: windowStandardPercent,
    degreesOfFreedom,
    coverageFactor: coverageFactor(degreesOfFreedom ?? Number.POSITIVE_INFINITY),
    expandedPercent: windowExpandedPercent,
    lowPercent: windowLowPercent,
    highPercent: windowHighPercent,
    lines: shown.budget.map(({ degreesOfFreedom: ofLine, line, standardPercent }) => ({
      line,
      standardPercent,
      degreesOfFreedom: ofLine,
      inputs: inputs
        .filter((input) => input.line === line)
        .map(({ input, sensitivity, standardUncertainty }) => ({ input, standardUncertainty, sensitivity })),
    })),
  };
}

function explainWhole({ shown, slice, weights }: AssessedCell): Explanation['wholeExercise'] {
  const { exerciseHighPercent, exerciseLowPercent } = shown;
  if (slice === null || exerciseLowPercent === null || exerciseHighPercent === null) return null;
  return {
    ...slice,
    dwells: weights.filter((weight) => weight > 0).length,
    lowPercent: exerciseLowPercent,
    highPercent: exerciseHighPercent,
  };
}

function noSuchCell({ cells }: Workings, place: CellPlace): ChambersideError {
  const names = (name: (cell: AssessedCell) => string): string => [...new Set(cells.map(name))].join(', ');
  return new ChambersideError(
    'cell-not-found',
    `the trial has no cell for exercise ${place.exercise} and probe ${place.probe}`,
    'result',
    `Exercises: ${names(({ shown }) => shown.exercise)}. Probes: ${names(({ shown }) => shown.probe)}.`,
  );
}

function explainPart({ shown, held }: AssessedPart, weight: number): ExplainedPart {
  const factors = factorsOf(shown);
  const base = { dwell: shown.dwell, dwellPosition: shown.dwellPosition, weight, ...factors };
  if (held === null) {
    return {
      ...base,
      read: false,
      zero: null,
      span: null,
      background: null,
      netReading: null,
      spanNet: null,
      percentPerReading: null,
      windowPercent: null,
      challenge: null,
      noise: null,
      detectionLimitPercent: null,
    };
  }
  const { background, breathing, challenge, noise } = held;
  return {
    ...base,
    read: true,
    zero: explainAnchor(held.zero, 'arrival'),
    span: explainAnchor(held.span, 'probe'),
    background:
      background === null
        ? null
        : {
            dwell: background.dwell.recorded.dwell.dwell,
            zero: explainKnownAnchor(background.zero, 'arrival'),
            netReading: background.netReading,
            ...(breathing?.background == null ? {} : { breathing: explainBreathing(breathing.background) }),
          },
    ...(breathing === null ? {} : { breathing: explainBreathing(breathing.window) }),
    netReading: held.net,
    spanNet: held.spanNet,
    percentPerReading: held.scale,
    windowPercent: shown.windowPercent,
    challenge:
      challenge === null
        ? null
        : {
            beforeDwell: challenge.beforeDwell,
            afterDwell: challenge.afterDwell,
            beforeNet: challenge.beforeNet,
            afterNet: challenge.afterNet,
            changePercent: challenge.changePercent,
            limitPercent: challenge.limitPercent,
          },
    noise: noise === null ? null : { ...noise },
    detectionLimitPercent: shown.detectionLimitPercent,
  };
}

function factorsOf(part: CellPart) {
  const { dilution, linearity, penetration, referenceDilution, referencePenetration, spatialFactor } = part;
  const factors = { dilution, penetration, referenceDilution, referencePenetration, spatialFactor };
  return linearity === undefined ? factors : { ...factors, linearity };
}

function explainBreathing(breathed: BreathedWindow): ExplainedBreathing {
  const { expiredSeconds, factor, factorUncertainty, inspirations, inspiredSeconds } = breathed;
  return { inspiredSeconds, expiredSeconds, factor, factorUncertainty, inspirations: [...inspirations] };
}

function explainAnchor(value: AnchoredValue | null, axis: ExplainedAnchor['axis']): ExplainedAnchor | null {
  return value === null ? null : explainKnownAnchor(value, axis);
}

function explainKnownAnchor(value: AnchoredValue, axis: ExplainedAnchor['axis']): ExplainedAnchor {
  const side = (dwell: ReadDwell | null, atMicroseconds: number | null): ExplainedAnchor['before'] =>
    dwell === null || atMicroseconds === null
      ? null
      : { dwell: dwell.recorded.dwell.dwell, atMicroseconds, reading: dwell.mean.corrected };
  return {
    axis,
    atMicroseconds: value.atMicroseconds,
    before: side(value.before, value.beforeAtMicroseconds),
    after: side(value.after, value.afterAtMicroseconds),
    weightAfter: value.shown.weightAfter,
    reading: value.shown.value,
  };
}

/** Every window that takes part in a cell, once each, by number of its dwell. */
function windowsOf(cell: AssessedCell): ReadDwell[] {
  const windows = new Map<number, ReadDwell>();
  for (const { held } of cell.parts) {
    if (held === null) continue;
    const anchored = [held.zero, held.span, held.background?.zero];
    const sources = anchored.flatMap((value) => [value?.before, value?.after]);
    for (const source of [held.dwell, held.background?.dwell, ...sources]) {
      if (source != null) windows.set(source.recorded.dwell.dwell, source);
    }
  }
  return [...windows.entries()].sort(([one], [other]) => one - other).map(([, dwell]) => dwell);
}

function explainWindow({ context, inputs }: Workings, dwell: ReadDwell): ExplainedWindow {
  const { rig, method, readings } = context;
  const { mean, port, recorded, window } = dwell;
  const { noiseReading } = dwellMean(dwell, context, inputs.blank);
  const shares = sharesOf(context, dwell);
  const { first } = wholeSpan(context, dwell);
  const values = shares.map((share, offset) => ({
    atMicroseconds: readings.atMicroseconds[first + offset] as number,
    value: readings.values[first + offset] as number,
    share,
  }));
  const used = values.filter(({ share }) => share > 0);
  const acknowledged = recorded.acknowledgedAtMicroseconds ?? 0;
  return {
    dwell: recorded.dwell.dwell,
    purpose: recorded.dwell.purpose,
    port: port.port,
    probe: port.probe,
    label: port.label,
    acknowledgedAtMicroseconds: acknowledged,
    releasedAtMicroseconds: dwell.releasedMicroseconds,
    delaySeconds: toSeconds(window.arrivalMicroseconds - acknowledged),
    commonDelaySeconds: toSeconds(commonDelayMicroseconds(rig)),
    settlingSeconds: dwell.settlingSeconds,
    guardSeconds: toSeconds(guardMicroseconds(rig, method.guardDispersions)),
    fromMicroseconds: window.fromMicroseconds,
    toMicroseconds: window.toMicroseconds,
    cutByLoss: dwell.cutByLoss,
    meanFromMicroseconds: mean.fromMicroseconds,
    meanToMicroseconds: mean.toMicroseconds,
    probeDelaySeconds: toSeconds(fullDelayMicroseconds(rig, port)),
    readings: mean.readings,
    firstAtMicroseconds: used[0]?.atMicroseconds ?? 0,
    lastAtMicroseconds: used.at(-1)?.atMicroseconds ?? 0,
    meanReading: mean.mean,
    endReadings: mean.endReadings,
    startMean: mean.startMean,
    endMean: mean.endMean,
    lagSeconds: mean.lagSeconds,
    lagTerm: mean.lagTerm,
    correctedReading: mean.corrected,
    squaredWeights: mean.squaredWeights,
    noiseReading,
    stepReading: dwell.step,
    settledSeconds: toSeconds(mean.fromMicroseconds - window.arrivalMicroseconds),
    carryOverReading: dwell.carryOver,
    values,
    ...(values.length === used.length
      ? {}
      : { leftOut: { readings: values.length - used.length, pieces: dwell.pieces.map(explainPiece) } }),
  };
}

/** All readings of the window, the ones that are left out included. */
function wholeSpan({ readings }: ReadingContext, { span, window }: ReadDwell): Span {
  const whole = within(readings, window);
  return { first: Math.min(whole.first, span.first), end: Math.max(whole.end, span.end) };
}

/** How often each reading of the window counts in the mean of its piece, in halves; 0: it is left out. */
function sharesOf(context: ReadingContext, dwell: ReadDwell): number[] {
  const { end, first } = wholeSpan(context, dwell);
  const shares = new Array<number>(end - first).fill(0);
  for (const piece of dwell.pieces) {
    for (const [offset, share] of readingShares(piece.mean.readings, piece.mean.endReadings).entries()) {
      shares[piece.first - first + offset] = share;
    }
  }
  return shares;
}

function explainPiece({ mean }: Piece): ExplainedPiece {
  return {
    fromMicroseconds: mean.fromMicroseconds,
    toMicroseconds: mean.toMicroseconds,
    readings: mean.readings,
    endReadings: mean.endReadings,
    weightSeconds: lengthOfMean(mean),
    meanReading: mean.mean,
    startMean: mean.startMean,
    endMean: mean.endMean,
    lagTerm: mean.lagTerm,
    correctedReading: mean.corrected,
  };
}
