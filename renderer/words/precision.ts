import type { ContrastPower } from '../../src/study/plan/power.ts';
import { limitNumber, significant } from './numbers.ts';

const factorText = (factor: number): string => significant(factor, factor < 1.1 ? 4 : 3);

export const precisionWords = {
  title: 'What more subjects would buy',
  statement: (now: ContrastPower, twice: ContrastPower) =>
    `With ${now.subjects} subjects a ratio would be known to within a factor of ${factorText(now.halfWidth)}, with ` +
    `${twice.subjects} to within ${factorText(twice.halfWidth)}.`,
  picture: 'How near a ratio of two ensembles is known, against the number of subjects',
  factor: (factor: number) => `× ${limitNumber(factor, 3)}`,
  axis: 'subjects who wear every ensemble',
  how:
    'Half of the interval of a ratio of whole trials, if further subjects scatter as these do. The line is what to ' +
    'expect, and 8 of 10 such studies end below the top of the band.',
};
