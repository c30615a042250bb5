import * as distributions from '../../../src/statistics/distributions.ts';

/** A line of what R has computed. */
export interface DistributionRow {
  readonly name: string;
  readonly at: number;
  readonly parameters: readonly number[];
  readonly expected: number;
}

/** The lines of a file written by `tests/landing/r/distributions.R`. */
export function distributionRows(text: string): DistributionRow[] {
  return text
    .split('\n')
    .slice(2)
    .filter((line) => line !== '')
    .map((line) => {
      const [name = '', at = '', first = '', second = '', expected = ''] = line.split(',');
      return {
        name,
        at: Number(at),
        parameters: [first, second].filter((parameter) => parameter.trim() !== 'NA').map(Number),
        expected: Number(expected),
      };
    });
}

/** The same by this program. */
export function ownValue({ name, at, parameters }: DistributionRow): number {
  const [first = Number.NaN, second = Number.NaN] = parameters;
  switch (name) {
    case 'normalQuantile':
      return distributions.normalQuantile(at);
    case 'normalProbability':
      return distributions.normalProbability(at);
    case 'studentQuantile':
      return distributions.studentQuantile(at, first);
    case 'studentProbability':
      return distributions.studentProbability(at, first);
    case 'chiSquareQuantile':
      return distributions.chiSquareQuantile(at, first);
    case 'fQuantile':
      return distributions.fQuantile(at, first, second);
    case 'fProbability':
      return distributions.fProbability(at, first, second);
    case 'betaQuantile':
      return distributions.betaQuantile(at, first, second);
    case 'noncentralStudentQuantile':
      return distributions.noncentralStudentQuantile(at, first, second);
    case 'noncentralStudentProbability':
      return distributions.noncentralStudentProbability(at, first, second);
    default:
      throw new Error(`R has computed ${name}, which nobody here knows`);
  }
}

/**
 * How far the program may be from R: 1e-9 of a quantile, 1e-12 of a probability. A quantile of F is taken by R (4.2.2,
 * qf.c) as 1/beta − 1, whose last digits are lost where it is small: there R is as exact as a few roundings of one,
 * times the ratio of the degrees of freedom.
 */
export function allowance({ name, expected, parameters }: DistributionRow): number {
  if (name.endsWith('Probability')) return 1e-12;
  const [above = 1, below = 1] = parameters;
  const lostByR = name === 'fQuantile' ? (8 * Number.EPSILON * below) / above : 0;
  return 1e-9 * Math.abs(expected) + lostByR + 1e-15;
}
