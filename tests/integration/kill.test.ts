import { afterAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../support/command-line.ts';
import { killAndResume } from '../support/kill.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());

describe('kill -9 of a rehearsal', () => {
  it.each([3, 10, 18, 28])('in the background touches no cell of the trial: after %i commits', async (afterLinks) => {
    const outcome = await killAndResume(folder.file(`background-${afterLinks}.chamberside`), {
      afterLinks,
      delayMilliseconds: 0,
      seed: afterLinks,
      scenario: 'short',
    });
    // Zero 6 s, five probes of 5 s, zero 6 s.
    expect(outcome.storedMicroseconds).toBeLessThan(37_000_000);
    expect(outcome.agreement).toMatchObject({ cells: 10, flagged: 0, outside: [] });
  });

  // Entry, lead-in and dwell of the short series; the landing tier does this twenty times at random.
  it.each([42, 61, 97])(
    'loses nothing that was acknowledged, and goes on held: after %i commits',
    async (afterLinks) => {
      const outcome = await killAndResume(folder.file(`kill-${afterLinks}.chamberside`), {
        afterLinks,
        delayMilliseconds: 0,
        seed: afterLinks,
        scenario: 'short',
      });
      expect(outcome.storedMicroseconds).toBeGreaterThanOrEqual(outcome.acknowledgedMicroseconds);
      expect(outcome.agreement.outside).toEqual([]);
    },
  );
});
