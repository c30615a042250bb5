import { afterAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../support/command-line.ts';
import { killAndResume } from '../support/kill.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());

describe('kill -9 of a rehearsal', () => {
  // Background, entry, lead-in and dwell of the short series; the landing tier does this twenty times at random.
  it.each([3, 42, 61, 97])(
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
