import { toMicroseconds, toSeconds } from '../model/time.ts';
import type { Method } from '../model/method.ts';
import { noiseOfZeros } from './against-air.ts';
import { anchoredValue, middle } from './anchors.ts';
import { limitsOfFullShare } from './carry-over.ts';
import { leftInPieces, meanOf, noiseOf, readDwell, wasRead, windowAfter } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { fewestWindowReadings, meanOfMeans } from './lag.ts';
import type { WindowMean } from './lag.ts';
import { keptSpans } from './left-out.ts';
import { within } from './readings.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import { trialInputs } from './trial-inputs.ts';
import type { TrialInputs } from './trial-inputs.ts';
import { guardMicroseconds } from './window.ts';

/**
 * The first look is at the second half of every dwell, where a slow photometer may still fall by so much that it passes
 * for noise; the second is at the windows that the first has chosen.
 */
const looks = 2;

type AdaptiveRule = Extract<Method['settling'], { readonly rule: 'adaptive' }>;

/** Settling is tried in steps of this, s: a time constant of 0.3 s settles by a third more in one. */
const stepSeconds = 0.1;

/**
 * Window and background share what a value may carry over, and levels are known from other windows only: either is
 * asked for half of it.
 */
const shareOfOne = 0.5;

/**
 * Chooses for each dwell how long to wait after its port's air has arrived: the shortest time after which the most that
 * the port before can have left (`carryOverBound`) is less than the method allows, so far as the dwell lasts. What is
 * allowed is held against levels and noise of earlier looks at the trial; the flags are then given by what the windows
 * really read.
 *
 * @param context of the trial, with the time constant that is to be used in its rig.
 * @returns seconds by the number of the dwell. A dwell of which nothing can be read is not in it.
 */
export function adaptSettling(
  context: ReadingContext,
  dwells: readonly RecordedDwell[],
  rule: AdaptiveRule,
): Map<number, number> {
  const halves = new Map<number, number>();
  for (const recorded of dwells) {
    const port = context.rig.ports.find((candidate) => candidate.port === recorded.dwell.port);
    const whole = port === undefined ? null : windowAfter(context, recorded, port, 0).window;
    if (whole === null) continue;
    halves.set(recorded.dwell.dwell, toSeconds(whole.toMicroseconds - whole.arrivalMicroseconds) / 2);
  }
  let chosen = halves;
  for (let look = 0; look < looks; look += 1) chosen = adaptedTo({ ...context, settlingSeconds: chosen }, dwells, rule);
  return chosen;
}

/** Settling by what the windows of an earlier look read. */
function adaptedTo(
  context: ReadingContext,
  dwells: readonly RecordedDwell[],
  rule: AdaptiveRule,
): Map<number, number> {
  const inputs = trialInputs(context, dwells);
  const chosen = new Map<number, number>();
  for (const recorded of dwells) {
    const dwell = readDwell(context, recorded);
    if (wasRead(dwell)) chosen.set(recorded.dwell.dwell, secondsFor(context, inputs, dwell, rule));
  }
  return chosen;
}

/** Seconds of settling for one dwell. @param dwell as an earlier look read it. */
function secondsFor(context: ReadingContext, inputs: TrialInputs, dwell: ReadDwell, rule: AdaptiveRule): number {
  const { method, readings, rig } = context;
  const { arrivalMicroseconds, toMicroseconds: end } = dwell.window;
  const usual = dwell.recorded.dwell.purpose === 'zero' ? method.zeroSettlingSeconds : rule.seconds;
  const least = Math.max(usual, toSeconds(guardMicroseconds(rig, method.guardDispersions)));
  const most = toSeconds(end - arrivalMicroseconds) - rule.windowSeconds;
  const allowed = allowance(context, inputs, dwell);
  for (let tried = 0; least + tried * stepSeconds < most; tried += 1) {
    const seconds = least + tried * stepSeconds;
    const span = within(readings, {
      fromMicroseconds: arrivalMicroseconds + toMicroseconds(seconds),
      toMicroseconds: end,
    });
    if (span.end - span.first < fewestWindowReadings) break;
    const spans = keptSpans(context, dwell.port, span);
    if (spans.length === 0) break;
    const pieces = spans.map((piece) => ({ ...piece, mean: meanOf(context, piece) }));
    const left = leftInPieces(context, dwell.step, arrivalMicroseconds, pieces);
    if (Math.abs(left) <= allowed(meanOfMeans(pieces.map(({ mean }) => mean)))) return seconds;
  }
  return Math.max(least, most);
}

/** What a window's mean may carry over, in the unit of the readings, by what it is used for. */
function allowance(context: ReadingContext, inputs: TrialInputs, dwell: ReadDwell): (mean: WindowMean) => number {
  const { method } = context;
  const { blank } = inputs;
  const share = method.carryOverPercent / 100;
  const noise = (mean: WindowMean): number =>
    blank === null ? 0 : noiseOf(blank, context.readings.resolution, mean.squaredWeights);
  /** A share of a detection limit with this standard uncertainty, as `doubtsOfPart` holds it against. */
  const ofLimit = (standard: number): number => share * limitsOfFullShare * method.detectionFactor * standard;
  const zero = anchoredValue(inputs.zeros, middle(dwell), dwell.segment, method.interpolation);
  const net = zero === null ? 0 : dwell.mean.corrected - zero.shown.value;
  switch (dwell.recorded.dwell.purpose) {
    case 'zero':
      // A value rests on two zeros, whose mean is as noisy as 1/√2 of one at the least.
      return (mean) => ofLimit(Math.SQRT1_2 * noise(mean));
    case 'reference':
      return () => shareOfOne * share * Math.abs(net);
    case 'background':
      return (mean) => shareOfOne * ofLimit(noise(mean));
    case 'probe': {
      const background = method.subtractBackground ? (inputs.backgrounds.get(dwell.port.port)?.netReading ?? 0) : 0;
      const ofZeros = zero === null || blank === null ? 0 : noiseOfZeros(context, blank, zero);
      const level = share * Math.abs(net - background);
      return (mean) => shareOfOne * Math.max(level, ofLimit(Math.hypot(noise(mean), ofZeros)));
    }
  }
}
