import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { StormVerdict } from './judge-storm.ts';
import { runStorm } from './run-storm.ts';
import { summed } from './summed.ts';
import { temporaryFolder } from '../support/command-line.ts';

/** The tests of a tier: so many storms, from seed 1 on. */
export function weatherStorms(storms: number): void {
  const folder = temporaryFolder();
  const verdicts: StormVerdict[] = [];
  let sum: ReturnType<typeof summed>;

  beforeAll(async () => {
    for (let seed = 1; seed <= storms; seed += 1) verdicts.push(await runStorm(seed, folder.path));
    sum = summed(verdicts);
    console.log(JSON.stringify(sum));
  }, storms * 30_000);
  afterAll(() => folder.clear());

  describe('trials that go through storms of faults', () => {
    it('lose nothing, hide nothing and tell no wrong number', () => {
      const broken = verdicts.flatMap(({ broken, seed }) => broken.map((text) => `storm ${seed}: ${text}`));
      expect(broken).toEqual([]);
    });

    it('hold the truth in their intervals where they have no flag', () => {
      expect(sum.compared).toBeGreaterThan(3 * storms);
      expect(sum.coveredPercent).toBeGreaterThan(90);
    });

    it('leave a cell that no fault came near as it is', () => {
      expect(sum.untouched).toBeGreaterThan(storms / 5);
      expect(sum.untouchedFlagged / sum.untouched).toBeLessThanOrEqual(0.03);
    });

    it('met faults of every kind, and a disk that refused', () => {
      // Six of the wire, a cable, generator, blocked line, belt, subject, three of a contact, three of the valve, door,
      // zero, span.
      expect(sum.faultKinds).toBe(20);
      expect(sum.commitFailures).toBeGreaterThan(storms / 20);
    });
  });
}
