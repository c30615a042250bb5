import { fitCurve } from '../statistics/least-squares.ts';

/**
 * A well-mixed chamber: V dC/dt = G − Q C, so C(t) = C_steady + (C_0 − C_steady) e^(−N t) with N = Q/V and
 * C_steady = G/Q. Common practice. Where mixing is poor N is the effective one, Q/V divided by a factor of 1 to 10.
 */

/**
 * Steady concentration, mg/m³.
 * @param milligramsPerMinute what the generator gives, not negative. @param cubicMetresPerHour flow of air, positive.
 * @throws RangeError otherwise.
 */
export function steadyConcentration(milligramsPerMinute: number, cubicMetresPerHour: number): number {
  if (!(milligramsPerMinute >= 0)) throw new RangeError('the output of the generator must not be negative');
  if (!(cubicMetresPerHour > 0)) throw new RangeError('the flow of air must be greater than zero');
  return (60 * milligramsPerMinute) / cubicMetresPerHour;
}

/** Share of the way to the steady level after a time: 1 − e^(−N t). @throws RangeError unless N > 0 and t ≥ 0. */
export function shareOfSteady(airChangesPerHour: number, seconds: number): number {
  requireAirChanges(airChangesPerHour);
  if (!(seconds >= 0)) throw new RangeError('the time must not be negative');
  return -Math.expm1((-airChangesPerHour * seconds) / 3600);
}

/**
 * Time until the concentration is within a share of its steady value, s: ln(1/share)/N. 0.01 is 99 %. The same time
 * purges the chamber to that share.
 * @throws RangeError unless N > 0 and 0 < share < 1.
 */
export function secondsUntilWithin(share: number, airChangesPerHour: number): number {
  requireAirChanges(airChangesPerHour);
  if (!(share > 0 && share < 1)) throw new RangeError('the share must lie between 0 and 1');
  return (-3600 * Math.log(share)) / airChangesPerHour;
}

export interface AirChanges {
  readonly perHour: number;
  /** Standard error for white scatter; a generator's fluctuation is not white, so it is a floor. Null: unknown. */
  readonly standardErrorPerHour: number | null;
  /** At the first reading, and where the course leads: unit of the readings. */
  readonly start: number;
  readonly steady: number;
}

/**
 * Air changes from a decay or a rise, by least squares with start and steady level free: a logarithm would give the
 * last, faint readings all the weight and needs a level that is known.
 * @param seconds ascending, @param values concentrations: one element each, at least ten.
 * @throws RangeError otherwise, for a course that shows no change, or one so short that the steady level is a guess: it
 * must reach over one and a half time constants.
 */
export function airChanges(seconds: Float64Array, values: Float64Array): AirChanges {
  const count = seconds.length;
  if (count < 10 || values.length !== count) throw new RangeError('air changes need at least ten readings');
  const origin = seconds[0] as number;
  const places = seconds.map((second) => second - origin);
  const length = places[count - 1] as number;
  if (!(length > 0)) throw new RangeError('the times must ascend');
  const first = values[0] as number;
  const last = values[count - 1] as number;
  const scale = Math.max(...values) - Math.min(...values);
  if (!(scale > 0)) throw new RangeError('nothing changed: there is no decay or rise to fit');
  const fit = fitCurve(
    {
      value: ([start = 0, steady = 0, rate = 0], at) => steady + (start - steady) * Math.exp(-rate * at),
      gradient: ([start = 0, steady = 0, rate = 0], at) => {
        const left = Math.exp(-rate * at);
        return [left, 1 - left, -at * (start - steady) * left];
      },
    },
    places,
    values,
    [first, last, 3 / length],
    [scale, scale, 1 / length],
    [-Infinity, -Infinity, 0],
    [Infinity, Infinity, (10 * count) / length],
  );
  const [start = 0, steady = 0, rate = 0] = fit.parameters;
  if (!fit.converged || !(rate * length >= 1.5) || Math.abs(start - steady) < 4 * fit.residualDeviation) {
    throw new RangeError('the course does not tell the air changes: record one and a half time constants of it');
  }
  const error = fit.standardErrors[2] ?? null;
  return {
    perHour: 3600 * rate,
    standardErrorPerHour: error === null ? null : 3600 * error,
    start,
    steady,
  };
}

function requireAirChanges(airChangesPerHour: number): void {
  if (!(airChangesPerHour > 0)) throw new RangeError('the air changes must be greater than zero');
}
