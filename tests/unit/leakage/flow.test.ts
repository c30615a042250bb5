import { describe, expect, it } from 'vitest';
import { doubtsOfLine, missingBackgrounds, spoils } from '../../../src/leakage/flow.ts';
import type { BackgroundAgainstAir, DoubtsOfLine, ReadingAgainstAir } from '../../../src/leakage/flow.ts';
import { gaussianSource } from '../../support/gaussian.ts';

const factor = 3;
const still = { zeroNoise: 0, carryOver: 0 };
/** Readings in units of the noise of one window, zeros without any. */
const read = (nets: readonly number[]): ReadingAgainstAir[] => nets.map((net) => ({ net, windowNoise: 1, ...still }));
const one = (net: number): ReadingAgainstAir => ({ net, windowNoise: 1, ...still });

/** `N` for a window without flow, `b` beside one, `.` for one that says nothing. */
function shown({ windows }: DoubtsOfLine): string {
  return windows.map((window) => (window === null ? '.' : window === 'beside' ? 'b' : 'N')).join('');
}
const line = (...nets: number[]): string => shown(doubtsOfLine(null, read(nets), factor));

describe('windows that read like filtered air', () => {
  it.each([
    ['all of them', [0.5, -1, 2, 0, 1], 'NNNNN'],
    ['from the start', [0.5, -1, 0, 40, 50, 30], 'NNNb..'],
    ['in the middle', [40, 50, 0, -2, 1, 30, 60], '.bNNNb.'],
    ['at the end', [40, 50, 30, 0, 1], '..bNN'],
    ['one alone', [40, 50, 1, 30], '.bNb'],
    ['twice', [0, 40, 50, 30, 40, 1, 0, 50], 'Nb..bNNb'],
    ['beside a blocked one that noise has lifted', [40, 50, 3.5, 0.5, -1, 30, 40], '..bNNb.'],
    ['beside one on either side', [40, 3.2, 0.5, 3.9, 40], '.bNb.'],
    ['on both sides of one that flowed', [40, 40, 0, 50, 1, 40, 40], '.bNbNb.'],
  ])('are found: %s', (_, nets, expected) => {
    expect(line(...nets)).toBe(expected);
  });

  it('say what their mean was and what it was held against', () => {
    const { windows } = doubtsOfLine(null, read([40, 50, 1, -1, 2, 0, 30]), factor);
    // Three standard uncertainties of a mean of four.
    expect(windows[2]).toEqual({ first: 2, last: 5, value: 0.5, limit: 1.5 });
    for (const index of [3, 4, 5]) expect(windows[index]).toBe(windows[2]);
  });

  it('count the noise of the zeros once for all', () => {
    const windows = [40, 50, 1, 0, 0, 1, 60].map((net) => ({ net, windowNoise: 1, zeroNoise: 1, carryOver: 0 }));
    const run = doubtsOfLine(null, windows, factor).windows[2];
    expect(run).toMatchObject({ first: 2, last: 5, limit: factor * Math.hypot(1 / 2, 1) });
  });

  it('may read what the port before has left', () => {
    const left = { net: 4, windowNoise: 1, zeroNoise: 0, carryOver: 2 };
    expect(shown(doubtsOfLine(null, [...read([40, 50]), left], factor))).toBe('.bN');
    expect(shown(doubtsOfLine(null, [...read([40, 50]), { ...left, carryOver: 0 }], factor))).toBe('...');
  });
});

describe('windows of an open line', () => {
  it.each([
    ['all flow', [40, 50, 30, 4]],
    ['each is lost in the noise, but all together are not', [2, 2, 2.5, 2, 1.5, 2]],
    ['the others hardly show either: nothing can be said', [4, 5, 2, 4, 3.5]],
    ['one is low, but more than half of the least of the others', [7, 8, 2.9, 2.8, 5]],
    ['there is no window', []],
  ])('are left alone: %s', (_, nets) => {
    expect(line(...nets)).toBe('.'.repeat(nets.length));
  });

  it('in 4000 trials without any leak, ten times the noise of background: not one', () => {
    const gaussian = gaussianSource(1);
    for (let trial = 0; trial < 4000; trial += 1) {
      const nets = Array.from({ length: 10 }, () => 10 + gaussian());
      expect(line(...nets), `trial ${trial}`).toBe('..........');
    }
  });

  it('in 2000 trials whose background hardly shows: fewer than one in a hundred', () => {
    const gaussian = gaussianSource(2);
    let doubtful = 0;
    for (let trial = 0; trial < 2000; trial += 1) {
      const nets = Array.from({ length: 10 }, () => 5 + gaussian());
      if (line(...nets) !== '..........') doubtful += 1;
    }
    expect(doubtful).toBeLessThan(20);
  });

});

describe('windows of a line that was blocked for a while', () => {
  it('are found in 2000 trials, and none but those beside them', () => {
    const gaussian = gaussianSource(3);
    let windows = 0;
    let missed = 0;
    for (let trial = 0; trial < 2000; trial += 1) {
      const first = trial % 8;
      const last = first + (trial % 3);
      const nets = Array.from(
        { length: 10 },
        (_unused, index) => gaussian() + (first <= index && index <= last ? 0 : 12 + (index % 4) * 10),
      );
      const found = line(...nets);
      windows += last - first + 1;
      missed += [...found.slice(first, last + 1)].filter((mark) => mark !== 'N').length;
      if (first > 1) expect(found.slice(0, first - 1), `trial ${trial}`).toBe('.'.repeat(first - 1));
      if (last < 8) expect(found.slice(last + 2), `trial ${trial}`).toBe('.'.repeat(8 - last));
    }
    // A window of nothing reads more than three standard uncertainties once in 740 times.
    expect(missed / windows).toBeLessThan(0.005);
  });

  it('are found among a thousand windows in a moment', () => {
    const windows = read(Array.from({ length: 1000 }, (_unused, index) => (index % 2 === 0 ? 1 : 40)));
    const begun = performance.now();
    doubtsOfLine(null, windows, factor);
    expect(performance.now() - begun).toBeLessThan(500);
  });
});

describe('a background before the windows', () => {
  it('is missing with them where it reads like filtered air too', () => {
    const { background } = doubtsOfLine(one(1), read([0, 1, 40, 50]), factor);
    expect(background).toEqual({ value: 1, limit: 3 });
  });

  it.each([
    ['it shows', one(12), [0, 1, 40, 50]],
    ['the first window flows', one(1), [40, 0, 50, 40]],
    ['the line is only beside', one(1), [40, 0, 1, 40]],
  ])('is not where %s', (_, background, nets) => {
    expect(doubtsOfLine(background, read(nets), factor).background).toBeNull();
  });
});

describe('backgrounds beside each other', () => {
  const lines = (nets: readonly number[], factors: readonly number[] = []): BackgroundAgainstAir[] =>
    nets.map((net, index) => ({ net, windowNoise: 1, ...still, factor: factors[index] ?? 1 }));
  const missing = (...backgrounds: BackgroundAgainstAir[]): number[] =>
    missingBackgrounds(backgrounds, factor).flatMap((found, index) => (found === null ? [] : [index]));

  it('show the one that is missing, and against what', () => {
    expect(missingBackgrounds(lines([12, 10, 0.5, 14, 9]), factor)).toEqual([
      null,
      null,
      { value: 0.5, limit: 11 / 4, expected: 11 },
      null,
      null,
    ]);
  });

  it.each([
    ['all show', [12, 10, 7, 14, 9]],
    ['none shows', [1, 0, -1, 2, 0.5]],
    ['the others hardly show', [4, 5, 0, 5, 5]],
    ['one is low but shows', [40, 40, 3.5, 40, 40]],
    ['one is in the noise, but not below a quarter', [9, 10, 2.6, 9, 10]],
    ['there is one only', [0]],
  ])('say nothing where %s', (_, nets) => {
    expect(missing(...lines(nets))).toEqual([]);
  });

  it('are asked for where they would change the value', () => {
    const lost = { value: 0.5, limit: 1.5, expected: 12 };
    expect(spoils(lost, one(570))).toBe(true);
    expect(spoils(lost, one(576))).toBe(false);
    expect(spoils(lost, one(-3))).toBe(true);
  });

  it('are seen where several lines were blocked at once, by those that were not', () => {
    expect(missing(...lines([0, 0.5, 12, 10, -1]))).toEqual([0, 1, 4]);
  });

  it('are expected by the dilution of each line', () => {
    // 20 elsewhere is 1 behind a dilution of 20, which cannot be seen; and 400 is 20, which can.
    expect(missing(...lines([20, 20, 0, 20], [1, 1, 20, 1]))).toEqual([]);
    expect(missing(...lines([400, 400, 0, 400], [1, 1, 20, 1]))).toEqual([2]);
    expect(missing(...lines([20, 20, 0, 20], [1, 1, 1, 1]))).toEqual([2]);
  });
});
