import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../support/command-line.ts';
import { killAndResume } from '../support/kill.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());

/** Twelve moments of the demo trial, spread by a fixed seed so that a failure can be repeated. */
const moments = fc.sample(
  fc.record({
    afterLinks: fc.noBias(fc.integer({ min: 1, max: 1600 })),
    delayMilliseconds: fc.noBias(fc.integer({ min: 0, max: 8 })),
  }),
  { numRuns: 12, seed: 20261125 },
);

describe('twelve kills of a whole rehearsal', () => {
  it.each(moments.map((moment, index) => ({ ...moment, index })))(
    'number $index, after $afterLinks commits',
    async ({ afterLinks, delayMilliseconds, index }) => {
      const outcome = await killAndResume(folder.file(`kill-${index}.chamberside`), {
        afterLinks,
        delayMilliseconds,
        seed: 100 + index,
        scenario: 'demo',
      });
      expect(outcome.agreement.outside).toEqual([]);
    },
  );
});
