/** One level of a linearity check: a known concentration and the mean reading at it. */
export interface LevelReading {
  readonly concentration: number;
  readonly reading: number;
}

export interface Linearity {
  /** Reading per concentration, and reading at none. */
  readonly slope: number;
  readonly intercept: number;
  /** For each level in the order given: reading minus line, unit of the reading, and in percent of the span. */
  readonly residuals: readonly number[];
  readonly residualsPercent: readonly number[];
  readonly largestPercent: number;
  /** Largest residual within the limit. */
  readonly passed: boolean;
}

/** Common practice: no level further from the line than this, percent of the span. */
export const linearityLimitPercent = 2;

/**
 * Straight line of reading on concentration by least squares with equal weights. The span is what the line rises from
 * the lowest to the highest level.
 * @throws RangeError for fewer than five levels (common practice), levels that are all alike, a value that is not
 * finite, or a line that does not rise.
 */
export function linearity(levels: readonly LevelReading[], limitPercent: number = linearityLimitPercent): Linearity {
  const count = levels.length;
  if (count < 5) throw new RangeError(`linearity needs at least five levels: there are ${count}`);
  if (!levels.every(({ concentration, reading }) => Number.isFinite(concentration) && Number.isFinite(reading))) {
    throw new RangeError('every level needs a concentration and a reading that are finite numbers');
  }
  const meanConcentration = levels.reduce((sum, { concentration }) => sum + concentration, 0) / count;
  const meanReading = levels.reduce((sum, { reading }) => sum + reading, 0) / count;
  let squares = 0;
  let products = 0;
  for (const { concentration, reading } of levels) {
    squares += (concentration - meanConcentration) ** 2;
    products += (concentration - meanConcentration) * (reading - meanReading);
  }
  if (squares === 0) throw new RangeError('all levels are alike: nothing shows a line');
  const slope = products / squares;
  if (!(slope > 0)) throw new RangeError('the reading does not rise with the concentration');
  const intercept = meanReading - slope * meanConcentration;
  const concentrations = levels.map(({ concentration }) => concentration);
  const span = slope * (Math.max(...concentrations) - Math.min(...concentrations));
  const residuals = levels.map(({ concentration, reading }) => reading - intercept - slope * concentration);
  const residualsPercent = residuals.map((residual) => (100 * residual) / span);
  const largestPercent = Math.max(...residualsPercent.map(Math.abs));
  return { slope, intercept, residuals, residualsPercent, largestPercent, passed: largestPercent <= limitPercent };
}
