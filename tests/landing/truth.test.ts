import { afterAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../support/command-line.ts';
import { agreement, mean, measured, rehearse, type Agreement } from '../support/rehearsal.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());

describe('twenty seeds of the default scenario', () => {
  const results: Agreement[] = [];

  it.each(Array.from({ length: 20 }, (_unused, index) => index + 1))(
    'seed %i: every unflagged cell agrees',
    async (seed) => {
      const printed = await rehearse(folder.file('seeds.chamberside'), '--seed', String(seed));
      const result = agreement(printed.cells, `seed ${seed}`);
      results.push(result);
      expect(result.outside).toEqual([]);
    },
  );

  it('have no bias over one percent and few flags', () => {
    expect(results).toHaveLength(20);
    const errors = results.flatMap((result) => result.relativeErrors);
    expect(errors.length).toBeGreaterThan(700);
    expect(Math.abs(mean(errors))).toBeLessThanOrEqual(0.01);
    const cells = results.reduce((sum, result) => sum + result.cells, 0);
    const flagged = results.reduce((sum, result) => sum + result.flagged, 0);
    expect(cells).toBe(1000);
    expect(flagged / cells).toBeLessThanOrEqual(0.02);
  });
});

describe('the demo series', () => {
  it('gives identical cells at 50 and 500 times real time', async () => {
    const slow = await rehearse(folder.file('slow.chamberside'), '--seed', '7', '--speed', '50');
    const fast = await rehearse(folder.file('fast.chamberside'), '--seed', '7', '--speed', '500');
    expect(measured(slow.cells)).toEqual(measured(fast.cells));
  });

  it('is rehearsed at 300 times real time or more', async () => {
    // Other work on the machine only ever slows a run down: the best of a few is what the program can do.
    const figures: number[] = [];
    while (figures.length < 6 && Math.max(0, ...figures) < 300) {
      figures.push((await rehearse(folder.file('speed.chamberside'), '--seed', String(figures.length))).timesRealTime);
    }
    expect(Math.max(...figures), figures.join(', ')).toBeGreaterThanOrEqual(300);
  });
});
