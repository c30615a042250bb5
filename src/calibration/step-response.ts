import type { Stated } from '../model/rig.ts';
import { normalProbability } from '../statistics/distributions.ts';
import { type Curve, fitCurve } from '../statistics/least-squares.ts';

/**
 * What a photometer shows after a sudden change of the air at the valve: a delay, a spread of the residence time in the
 * line, and the photometer's own exponential. Everything here is in seconds since the change.
 */

/** Readings from before the change until it has died away. One element for each reading. */
export interface StepReadings {
  /** Since the change at the valve, s; negative before it. */
  readonly seconds: Float64Array;
  readonly values: Float64Array;
}

export interface StepFit {
  readonly model: 'delay, dispersion and exponential' | 'delay and exponential';
  /** Shape of the dispersion that fits best; null in the model without. */
  readonly tanks: Tanks | null;
  /** Why the model without dispersion was taken; null when it was not. */
  readonly reason: string | null;
  /** Mean time from the valve to the photometer's optics, s. */
  readonly transitSeconds: number;
  /** Standard deviation of that time, s; 0 in the model without. */
  readonly dispersionSeconds: number;
  readonly timeConstantSeconds: number;
  /** Levels before the change and after it, unit of the readings. */
  readonly before: number;
  readonly after: number;
  /** Scatter of the readings about the curve, unit of the readings. */
  readonly residualDeviation: number;
  readonly readings: number;
}

/**
 * How the residence time in the line is spread: a plug followed by so many equal tanks, or Infinity for a Gaussian.
 * Fewer tanks are more skewed.
 */
type Tanks = number;

/** Shapes that are tried; the one that leaves the smallest sum of squares is taken. */
const shapes: readonly Tanks[] = [Infinity, 8, 4, 2];

/**
 * Share of a step that has arrived: the convolution of a spread delay with an exponential.
 * @param transitSeconds mean delay, @param dispersionSeconds its standard deviation, 0 for none.
 */
export function dispersedStep(
  secondsAfterStep: number,
  transitSeconds: number,
  dispersionSeconds: number,
  timeConstantSeconds: number,
  tanks: Tanks = Infinity,
): number {
  const late = secondsAfterStep - transitSeconds;
  if (dispersionSeconds === 0) return late <= 0 ? 0 : -Math.expm1(-late / timeConstantSeconds);
  return arrived(late, dispersionSeconds, tanks) - missing(late, dispersionSeconds, timeConstantSeconds, tanks);
}

/** Share that has arrived at the optics. */
function arrived(late: number, dispersion: number, tanks: Tanks): number {
  if (tanks === Infinity) return normalProbability(late / dispersion);
  const root = Math.sqrt(tanks);
  return tanksPassed((late / dispersion) * root + tanks, tanks);
}

/** What has arrived at the optics and does not show yet: with a Gaussian e^(σ²/2τ² − t/τ) · Φ(t/σ − σ/τ). */
function missing(late: number, dispersion: number, timeConstant: number, tanks: Tanks): number {
  if (tanks === Infinity) {
    const ratio = dispersion / timeConstant;
    const share = normalProbability(late / dispersion - ratio);
    // Where nothing has arrived yet the exponential may be endless; its product with nothing is nothing.
    return share === 0 ? 0 : Math.exp((ratio * ratio) / 2 - late / timeConstant) * share;
  }
  const ofTank = dispersion / Math.sqrt(tanks);
  const begun = late + tanks * ofTank;
  if (begun <= 0) return 0;
  const slower = 1 - ofTank / timeConstant;
  return Math.exp(-begun / timeConstant) * slower ** -tanks * tanksPassed((begun / ofTank) * slower, tanks);
}

/** 1 − e^(−x) Σ x^j/j! below `tanks`: share of a step that has passed equal tanks, x in time constants of one. */
function tanksPassed(x: number, tanks: number): number {
  if (x <= 0) return 0;
  let term = 1;
  let sum = 1;
  for (let index = 1; index < tanks; index += 1) {
    term *= x / index;
    sum += term;
  }
  return 1 - Math.exp(-x) * sum;
}

/** Parameters: level before, level after, transit, dispersion, time constant. */
function dispersed(tanks: Tanks): Curve {
  return {
    value: ([before = 0, after = 0, transit = 0, dispersion = 0, timeConstant = 0], at) =>
      before + (after - before) * dispersedStep(at, transit, dispersion, timeConstant, tanks),
    gradient: ([before = 0, after = 0, transit = 0, dispersion = 0, timeConstant = 0], at) => {
      const share = (spread: number, own: number): number => dispersedStep(at, transit, spread, own, tanks);
      const step = after - before;
      const now = share(dispersion, timeConstant);
      const little = 1e-5 * timeConstant;
      const wider = Math.min(little, dispersion / 2);
      return [
        1 - now,
        now,
        (-step * missing(at - transit, dispersion, timeConstant, tanks)) / timeConstant,
        (step * (share(dispersion + wider, timeConstant) - share(dispersion - wider, timeConstant))) / (2 * wider),
        (step * (share(dispersion, timeConstant + little) - share(dispersion, timeConstant - little))) / (2 * little),
      ];
    },
  };
}

/** Parameters: level before, level after, transit, time constant. */
const delayed: Curve = {
  value: ([before = 0, after = 0, transit = 0, timeConstant = 0], at) =>
    before + (after - before) * dispersedStep(at, transit, 0, timeConstant),
  gradient: ([before = 0, after = 0, transit = 0, timeConstant = 0], at) => {
    const late = at - transit;
    const absent = late <= 0 ? 1 : Math.exp(-late / timeConstant);
    const moving = late <= 0 ? 0 : absent;
    const step = after - before;
    return [absent, 1 - absent, (-step * moving) / timeConstant, (-step * moving * late) / timeConstant ** 2];
  },
};

/** Fewer readings than this after the change show no shape. */
const fewestReadings = 20;

/**
 * Fits one step. Take the *fall* into filtered air, which is free of the challenge's fluctuation, with equal weights:
 * weighting by shot noise puts all weight on the foot of the step. Where the readings do not tell a dispersion (its
 * standard error reaches a quarter of it, or it sinks to nothing) the model without dispersion is taken: the other one
 * is singular there.
 * @param guess where to begin, s: certificate values do. The time constant must be positive.
 * @throws RangeError for fewer than 20 readings after the change, none before it, times that do not ascend, a reading
 * that is not finite, a step that does not stand out from the scatter, or a fit that finds no bottom.
 */
export function fitStep(
  readings: StepReadings,
  guess: { readonly transitSeconds: number; readonly timeConstantSeconds: number },
): StepFit {
  const { seconds, values } = readings;
  const count = seconds.length;
  const afterwards = seconds.filter((second) => second > 0).length;
  if (afterwards < fewestReadings || afterwards === count) {
    throw new RangeError(`a step needs readings before it and ${fewestReadings} after it: ${afterwards} of ${count}`);
  }
  for (let index = 1; index < count; index += 1) {
    if (!((seconds[index] as number) > (seconds[index - 1] as number))) {
      throw new RangeError('the times of a step must ascend');
    }
  }
  const last = seconds[count - 1] as number;
  const interval = (last - (seconds[0] as number)) / (count - 1);
  const before = meanOf(values.filter((_, index) => (seconds[index] as number) <= 0));
  const after = meanOf(values.subarray(count - Math.max(3, Math.floor(afterwards / 5))));
  const step = Math.abs(after - before);
  if (!(step > 0)) throw new RangeError('nothing changed: there is no step to fit');
  const { transitSeconds, timeConstantSeconds } = guess;
  const scale = Math.max(timeConstantSeconds, interval);
  const start = [before, after, transitSeconds, scale / 5, timeConstantSeconds];
  const scales = [step, step, scale, scale, scale];
  const shortest = interval / 1000;
  const candidates = shapes.map((tanks) => ({
    tanks,
    fit: fitCurve(
      dispersed(tanks),
      seconds,
      values,
      start,
      scales,
      [-Infinity, -Infinity, 0, shortest, interval / 10],
      [Infinity, Infinity, last, scale, last],
    ),
  }));
  const good = candidates.filter(({ fit }) => fit.converged).sort((a, b) => a.fit.sumOfSquares - b.fit.sumOfSquares);
  const best = good[0];
  const dispersion = best?.fit.parameters[3] ?? 0;
  const dispersionError = best?.fit.standardErrors[3] ?? null;
  const reason =
    best === undefined
      ? 'no fit with dispersion found its bottom'
      : dispersionError === null || dispersion <= 2 * shortest || dispersionError > dispersion / 4
        ? 'the readings do not tell a dispersion'
        : null;
  const fit =
    best !== undefined && reason === null
      ? best.fit
      : fitCurve(
          delayed,
          seconds,
          values,
          [before, after, transitSeconds, timeConstantSeconds],
          [step, step, scale, scale],
          [-Infinity, -Infinity, 0, interval / 10],
          [Infinity, Infinity, last, last],
        );
  // Without dispersion the sum has a kink at each reading's time, where steps of the method may stop short of 1e-11.
  const [levelBefore = 0, levelAfter = 0, transit = 0] = fit.parameters;
  const timeConstant = fit.parameters.at(-1) ?? 0;
  if (Math.abs(levelAfter - levelBefore) < 10 * fit.residualDeviation) {
    throw new RangeError('the step does not stand out from the scatter of the readings');
  }
  return {
    model: reason === null ? 'delay, dispersion and exponential' : 'delay and exponential',
    reason,
    tanks: reason === null && best !== undefined ? best.tanks : null,
    transitSeconds: transit,
    dispersionSeconds: reason === null ? dispersion : 0,
    timeConstantSeconds: timeConstant,
    before: levelBefore,
    after: levelAfter,
    residualDeviation: fit.residualDeviation,
    readings: count,
  };
}

/** What several steps say together. */
export interface StepResponse {
  readonly transitSeconds: Stated;
  readonly timeConstantSeconds: Stated;
  /** Transit + time constant: what the alignment of means needs, and better known than either. */
  readonly sumSeconds: Stated;
  /** Mean over the fits that tell one; null when none does. */
  readonly dispersionSeconds: number | null;
  readonly repeats: number;
}

/** Fewer repeats than this say nothing about how well a response repeats. */
export const fewestRepeats = 5;

/**
 * Mean of repeated fits. The standard uncertainty is that of the mean, but never less than half a sampling interval/√3
 * for times and 1 % for the time constant: what a fit repeats is not what it knows, the shape of the line's dispersion
 * is modelled and not known.
 * @param samplingSeconds between readings, > 0.
 * @throws RangeError for fewer than five fits.
 */
export function combineSteps(fits: readonly StepFit[], samplingSeconds: number): StepResponse {
  if (fits.length < fewestRepeats) {
    throw new RangeError(`a step response needs ${fewestRepeats} repeats: there are ${fits.length}`);
  }
  if (!(samplingSeconds > 0)) throw new RangeError('the sampling interval must be greater than zero');
  const grid = samplingSeconds / 2 / Math.sqrt(3);
  const timeConstant = stated(fits.map((fit) => fit.timeConstantSeconds));
  const onePercent = 0.01 * timeConstant.value;
  const dispersions = fits.map((fit) => fit.dispersionSeconds).filter((dispersion) => dispersion > 0);
  return {
    transitSeconds: atLeast(stated(fits.map((fit) => fit.transitSeconds)), grid),
    timeConstantSeconds: atLeast(timeConstant, onePercent),
    sumSeconds: atLeast(stated(fits.map((fit) => fit.transitSeconds + fit.timeConstantSeconds)), grid),
    dispersionSeconds: dispersions.length === 0 ? null : meanOf(dispersions),
    repeats: fits.length,
  };
}

function stated(values: readonly number[]): Stated {
  const mean = meanOf(values);
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { value: mean, standardUncertainty: Math.sqrt(squares / (values.length - 1) / values.length) };
}

function atLeast({ value, standardUncertainty }: Stated, floor: number): Stated {
  return { value, standardUncertainty: Math.max(standardUncertainty, floor) };
}

function meanOf(values: ArrayLike<number>): number {
  let sum = 0;
  for (let index = 0; index < values.length; index += 1) sum += values[index] as number;
  return sum / values.length;
}
