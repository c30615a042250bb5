import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../../support/command-line.ts';
import { quantile } from '../../support/load/measures.ts';
import { reportWatched } from '../../support/window/report-watched.ts';
import { watchTrial, type WatchedTrial } from '../../support/window/watched-trial.ts';

const exerciseSeconds = 3_600;
const heapEverySeconds = 60;
/** The rings of readings are full after ten minutes at 100 readings a second; what is kept then stays. */
const fullAfter = 15;

const folder = temporaryFolder();
let watched: WatchedTrial;

beforeAll(async () => {
  watched = await watchTrial(folder, exerciseSeconds, heapEverySeconds);
  reportWatched(watched);
}, 2 * exerciseSeconds * 1000);
afterAll(() => folder.clear());

describe('an hour at 200 readings a second with the console on screen', () => {
  it('ends with the window’s memory where it was', () => {
    const settled = watched.heapBytes.slice(fullAfter);
    expect(settled.length).toBeGreaterThan(40);
    const before = quantile(settled.slice(0, 10), 0.5);
    const after = quantile(settled.slice(-10), 0.5);
    expect(after - before).toBeLessThan(2_000_000);
  });

  it('is as quick as ever', () => {
    expect(quantile(watched.lineToPixelMilliseconds, 0.99)).toBeLessThanOrEqual(100);
    expect(quantile(watched.drawsPerSecond, 0.05)).toBeGreaterThanOrEqual(20);
    const slow = watched.frameMilliseconds.filter((milliseconds) => milliseconds > 25).length;
    expect(slow / watched.frameMilliseconds.length).toBeLessThanOrEqual(0.01);
    expect(watched.hostShare).toBeLessThanOrEqual(0.1);
  });
});
