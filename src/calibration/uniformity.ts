import { describeValues } from '../statistics/univariate.ts';

/** One place of the grid, metres from any origin, and what was read there. */
export interface GridReading {
  readonly place: string;
  readonly xMetres: number;
  readonly yMetres: number;
  readonly zMetres: number;
  /** Any unit, the same for all; zero already subtracted. */
  readonly value: number;
}

/** One place of the map. */
export interface GridDeviation extends GridReading {
  /** From the mean of all places, percent of it, signed. */
  readonly deviationPercent: number;
}

export interface Uniformity {
  readonly mean: number;
  /** Coefficient of variation (n − 1), percent. */
  readonly variationPercent: number;
  /** The place that lies furthest from the mean. */
  readonly furthest: GridDeviation;
  /** Every place, in the order given. */
  readonly map: readonly GridDeviation[];
}

/**
 * How evenly the challenge fills the chamber: coefficient of variation and largest deviation over a grid. Common
 * practice accepts 10 % of either.
 * @throws RangeError for fewer than three places, two of one name, a value that is not finite or a mean that is not
 * above zero.
 */
export function uniformity(readings: readonly GridReading[]): Uniformity {
  if (readings.length < 3) throw new RangeError(`uniformity needs at least three places: there are ${readings.length}`);
  if (new Set(readings.map(({ place }) => place)).size !== readings.length) {
    throw new RangeError('two places have the same name: give each place one reading, the mean of its own');
  }
  const { mean, standardDeviation } = describeValues(readings.map(({ value }) => value));
  if (!(mean > 0)) throw new RangeError(`the mean over the grid must be above zero: it is ${mean}`);
  const map = readings.map((reading) => ({ ...reading, deviationPercent: (100 * (reading.value - mean)) / mean }));
  const furthest = map.reduce((worst, candidate) =>
    Math.abs(candidate.deviationPercent) > Math.abs(worst.deviationPercent) ? candidate : worst,
  );
  return { mean, variationPercent: (100 * standardDeviation) / mean, furthest, map };
}
