import { rmSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../support/command-line.ts';
import {
  budgetTimes,
  demandsOf100,
  demandsOf500,
  knownTrial,
  recover,
  scatterForNoise,
  unmet,
} from '../support/truth-recovery.ts';
import type { Recovered } from '../support/truth-recovery.ts';

const folder = temporaryFolder();
const right: Recovered[] = [];
const wide: Recovered[] = [];
const ofReadings: Recovered[] = [];
afterAll(() => folder.clear());

beforeAll(async () => {
  for (let seed = 1; seed <= 500; seed += 1) {
    const file = folder.file(`sharp-${seed}.chamberside`);
    const trial = await knownTrial(file, '--scenario', 'sharp', '--seed', String(seed), '--speed', '5000');
    right.push(recover(trial));
    if (seed <= 100) {
      wide.push(recover(trial, undefined, undefined, budgetTimes(1.3)));
      ofReadings.push(recover(trial, undefined, undefined, scatterForNoise(trial.record)));
    }
    rmSync(file);
  }
}, 3_600_000);

describe('the sharp scenario', () => {
  it('holds the demands of 100 seeds in four of five hundreds', () => {
    // A correct program misses one of these demands in a few of a thousand hundreds: the lowest probe's bias first.
    const missed = [0, 1, 2, 3, 4].map((hundred) =>
      unmet(right.slice(100 * hundred, 100 * hundred + 100), demandsOf100),
    );
    expect(missed.filter((one) => one.length > 0).length, JSON.stringify(missed)).toBeLessThanOrEqual(1);
  });

  it('holds the demands of 500 seeds', () => {
    expect(unmet(right, demandsOf500)).toEqual([]);
  });

  it('does not with a budget 1.3 times as wide, nor with the scatter of readings in place of noise', () => {
    expect(unmet(wide, demandsOf100)).not.toEqual([]);
    expect(unmet(ofReadings, demandsOf100)).not.toEqual([]);
  });
});
