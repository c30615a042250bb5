import { describe, expect, it } from 'vitest';
import { formatExplanation } from '../../../src/host/cli/explain-text.ts';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainFrom } from '../../../src/leakage/explain.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { blocked, freed, open, options, whole } from '../../support/blocked-line.ts';
import { dwellWhere, ofProbe, withReadings, type Place } from '../../support/spoiled-trial.ts';
import { nominal, syntheticTrial } from '../../support/synthetic-trial.ts';

const exercises = ['exercise-1', 'exercise-2', 'exercise-3'];
const backgroundOf = (probe: string): Place =>
  dwellWhere(({ dwell }) => dwell.purpose === 'background' && dwell.probe === probe);

function withoutFlow(record: TrialRecord): string[] {
  return assess(record, firstMethod)
    .cells.filter(({ flags }) => flags.includes('no-flow'))
    .map(({ exercise, probe }) => `${exercise} ${probe}`);
}

it('an open line is not doubted', () => {
  expect(withoutFlow(open)).toEqual([]);
});

describe('a line that was blocked', () => {
  it('for one window makes that and those beside it doubtful', () => {
    const record = whole(open, ofProbe('exercise-1', 'back'));
    expect(withoutFlow(record)).toEqual(['exercise-1 back', 'exercise-2 back']);
  });

  it('from the start, and freed later, makes all cells of the probe doubtful: the background is missing', () => {
    const record = whole(whole(open, backgroundOf('back')), ofProbe('exercise-1', 'back'));
    expect(withoutFlow(record)).toEqual(exercises.map((exercise) => `${exercise} back`));
  });

  it('only while its background was read, too', () => {
    expect(withoutFlow(whole(open, backgroundOf('chest')))).toEqual(exercises.map((exercise) => `${exercise} chest`));
  });

  it('while a background was read that the method does not subtract, does no harm', () => {
    const method = { ...firstMethod, subtractBackground: false };
    const flags = assess(whole(open, backgroundOf('chest')), method).cells.flatMap((cell) => cell.flags);
    expect(flags).not.toContain('no-flow');
  });

  it.each([
    ['its first half', 0, 9],
    ['its last third', 13, 19],
    ['a piece in the middle', 9, 13],
  ])('for a part of a window makes that one doubtful: %s', (_, from, to) => {
    const place = ofProbe('exercise-2', 'thigh');
    const record = blocked(open, place.from + from * 1e6 + 1e6, place.from + to * 1e6);
    expect(withoutFlow(record)).toEqual(['exercise-2 thigh']);
  });

  // Air of a dwell arrives 0.9 s after the valve has moved, and its window begins 5 s later.
  it.each([
    ['just after it began', 6.7],
    ['just before, with stale air still in the line', 4.8],
  ])('until its window had begun makes that one doubtful: freed %s', (_, to) => {
    const place = ofProbe('exercise-2', 'thigh');
    expect(withoutFlow(freed(open, place.from + 1e6, place.from + to * 1e6))).toEqual(['exercise-2 thigh']);
  });

  it('for the last second of a window makes that one doubtful', () => {
    const place = ofProbe('exercise-2', 'thigh');
    expect(withoutFlow(blocked(open, place.to - 0.7e6, place.to + 0.9e6))).toEqual(['exercise-2 thigh']);
  });

  it('while nothing of it was used does no harm', () => {
    const place = ofProbe('exercise-2', 'thigh');
    expect(withoutFlow(freed(open, place.from + 1e6, place.from + 2.5e6))).toEqual([]);
  });

  it('while a background was read that is a hundredth of the leakage does no harm', () => {
    const { record } = syntheticTrial({ ...options, leakages: [3e-4, 0.05, 3.6e-3, 8.3e-3, 1.6e-2] });
    expect(withoutFlow(whole(record, backgroundOf('chest')))).toEqual([]);
  });
});

describe('a photometer whose zero drifts fast and hardly scatters', () => {
  it.each([-0.1, 0.1])('is no blocked line: %d of the challenge in an hour', (zeroDrift) => {
    for (const at of [1e-7, 1e-6, 1e-5]) {
      expect(withoutFlow(syntheticTrial({ noise: at, zeroDrift }).record), `noise ${at}`).toEqual([]);
    }
  });
});

// As a photometer shows it that is quicker than stated by nearly two standard uncertainties.
describe('a window after the challenge itself', () => {
  const { from, to } = ofProbe('exercise-2', 'thigh');
  const arrival = from + 0.93e6;
  const times = (open.streams[0]?.atMicroseconds ?? new Float64Array()).filter((at) => from <= at && at < to);
  let index = 0;
  const after = withReadings(
    from,
    to,
    (value) => value + nominal * Math.exp(-Math.max(0, (times[index++] ?? from) - arrival) / 0.95e6),
    open,
  );

  // The window before ends with a jump, and is not asked about.
  it('shows flow', () => {
    expect(withoutFlow(after)).not.toContain('exercise-2 thigh');
  });

  it('shows flow where readings are missing before it', () => {
    for (const since of [1.5, 2, 2.5, 3]) {
      const gap = withReadings(arrival + since * 1e6, arrival + 4.5e6, () => null, after);
      expect(withoutFlow(gap), `${since} s`).not.toContain('exercise-2 thigh');
    }
  });
});

describe('a leak that opens and closes', () => {
  it.each([
    ['with the strokes of a movement', { burst: 0.8 }],
    ['slowly', { wave: 0.6 }],
    ['hardly at all: tight', { leakages: [0, 0, 0, 0, 0] }],
  ])('is no blocked line: %s', (_, change) => {
    for (let seed = 1; seed <= 5; seed += 1) {
      expect(withoutFlow(syntheticTrial({ ...options, ...change, seed }).record), `seed ${seed}`).toEqual([]);
    }
  });
});

describe('the explanation of a cell', () => {
  const page = (record: TrialRecord, exercise: string, probe: string): string =>
    formatExplanation(
      explainFrom(record, firstMethod, assessWithWorkings(record, firstMethod), { exercise, probe }),
      false,
    );
  const number = '-?[0-9.]+ mg/m³';
  const line = (found: string): RegExp => new RegExp(`^    ${found}: ${number}, against ${number}$`, 'm');

  it('tells the mean of the windows and what it was held against, in each cell that it touched', () => {
    const place = ofProbe('exercise-1', 'back');
    const record = whole(open, place);
    const within = `mean over the window of dwell ${place.dwell}, minus zero, beside the other windows of the probe`;
    expect(page(record, 'exercise-1', 'back')).toMatch(line(within));
    const where = `mean over the window of dwell ${place.dwell} beside it, minus zero`;
    const beside = `the line may have been blocked in a part of this window: ${where}`;
    expect(page(record, 'exercise-2', 'back')).toMatch(line(beside));
  });

  it('tells of the background that is missing', () => {
    const { dwell } = backgroundOf('chest');
    const record = whole(open, backgroundOf('chest'));
    const found = `dwell ${dwell}: background minus zero, beside those of the other probes`;
    expect(page(record, 'exercise-3', 'chest')).toMatch(line(found));
  });

  it('tells of the slice without flow', () => {
    const { dwell, from } = ofProbe('exercise-2', 'thigh');
    const record = blocked(open, from + 14e6, from + 19e6);
    const where = 'in the window or just before it, minus zero, beside the highest';
    const found = `dwell ${dwell}: the lowest slice of [1-9]\\.[0-9] s ${where}`;
    expect(page(record, 'exercise-2', 'thigh')).toMatch(line(found));
  });
});
