import { describe, expect, it } from 'vitest';
import { formatExplanation } from '../../../src/host/cli/explain-text.ts';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainFrom } from '../../../src/leakage/explain.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { gaussianSource } from '../../support/gaussian.ts';
import { dwellWhere, ofProbe, withReadings, type Place } from '../../support/spoiled-trial.ts';
import { nominal, syntheticTrial, type SyntheticOptions } from '../../support/synthetic-trial.ts';

const noise = 4e-5;
/** As much in every line as if it were diluted like the others, so that it shows in all; zeros that stay. */
const options: SyntheticOptions = { noise, zeroDrift: 0, background: 5e-4, timeConstantSeconds: 1 };
const open = syntheticTrial(options).record;
/** What filtered air reads in a synthetic trial without drift. */
const zeroReading = 0.05;
const exercises = ['exercise-1', 'exercise-2', 'exercise-3'];
const backgroundOf = (probe: string): Place =>
  dwellWhere(({ dwell }) => dwell.purpose === 'background' && dwell.probe === probe);

/** The record as if nothing came through the line from one moment to another: what was there decays with 1 s. */
function blocked(record: TrialRecord, from: number, to: number): TrialRecord {
  const gaussian = gaussianSource(7);
  const times = record.streams[0]?.atMicroseconds.filter((at) => from <= at && at < to) ?? new Float64Array();
  let level: number | null = null;
  let index = 0;
  return withReadings(
    from,
    to,
    (value) => {
      level ??= value - zeroReading;
      const seconds = ((times[index] ?? from) - from) / 1e6;
      index += 1;
      return zeroReading + level * Math.exp(-seconds) + noise * nominal * gaussian();
    },
    record,
  );
}
/** All that a dwell gave: from a second after the valve has moved to where the next port's air arrives. */
const whole = (record: TrialRecord, { from, to }: Place): TrialRecord => blocked(record, from + 1e6, to + 0.9e6);

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
});

describe('a photometer whose zero drifts fast and hardly scatters', () => {
  it.each([-0.1, 0.1])('is no blocked line: %d of the challenge in an hour', (zeroDrift) => {
    for (const at of [1e-7, 1e-6, 1e-5]) {
      expect(withoutFlow(syntheticTrial({ noise: at, zeroDrift }).record), `noise ${at}`).toEqual([]);
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
    const found = `dwell ${dwell}: the lowest of 8 slices of the window, minus zero, beside the highest`;
    expect(page(record, 'exercise-2', 'thigh')).toMatch(line(found));
  });
});
