import { describe, it } from 'vitest';
import { expectWithinTolerances } from '../support/rig-steps.ts';

/** Lines as spread as a third of the time constant, and sharper ones, each on eight rigs. */
describe('step response against the truth of the virtual rig', () => {
  it.each([
    [0.08, 0.3],
    [0.1, 0.3],
    [0.08, 1],
    [0.2, 1],
    [0.33, 1],
    [0.08, 2],
    [0.5, 2],
    [0.66, 2],
  ])('dispersion %f s, tau %f s', (dispersion, timeConstant) => {
    for (let seed = 11; seed < 19; seed += 1) expectWithinTolerances(dispersion, timeConstant, seed);
  });
});
