import { describe, expect, it } from 'vitest';
import { adaptiveMethod } from '../../../src/leakage/adaptive-method.ts';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import type { Assessment, Cell } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainFrom } from '../../../src/leakage/explain.ts';
import type { Flag } from '../../../src/leakage/flag.ts';
import type { LeftOut } from '../../../src/leakage/left-out.ts';
import type { Method } from '../../../src/model/method.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { freed, open, whole } from '../../support/blocked-line.ts';
import { cellOf, dwellWhere, ofProbe, withReadings } from '../../support/spoiled-trial.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

/** Whatever leaving out changes must be said: held against the same trial with nothing left out. */
const stretch = (fromMicroseconds: number, toMicroseconds: number): LeftOut => ({
  fromMicroseconds: Math.round(fromMicroseconds),
  toMicroseconds: Math.round(toMicroseconds),
  time: 'arrival',
  probe: null,
  reason: 'somebody opened the door',
});

const both = (record: TrialRecord, left: LeftOut, method: Method = firstMethod): [Assessment, Assessment] => [
  assess(record, method),
  assess(record, method, [left]),
];
const seenOf = (cell: Cell): unknown => [
  ...[cell.windowPercent, cell.windowLowPercent, cell.windowHighPercent, cell.detectionLimitPercent],
  ...cell.flags,
];
const namesOf = (cells: readonly Cell[]): string[] => cells.map(({ exercise, probe }) => `${exercise} ${probe}`);
const flaggedBy = ({ cells }: Assessment, flag: Flag): string[] =>
  namesOf(cells.filter(({ flags }) => flags.includes(flag)));
/** Names of the cells that differ in anything but the whole exercise. */
const changed = (before: Assessment, after: Assessment): string[] =>
  namesOf(after.cells.filter((cell, index) => {
    const was = before.cells[index];
    return was === undefined || JSON.stringify(seenOf(was)) !== JSON.stringify(seenOf(cell));
  }));
const doubtIn = (record: TrialRecord, left: LeftOut, exercise: string, probe: string): string => {
  const workings = assessWithWorkings(record, firstMethod, [left]);
  const { doubts } = explainFrom(record, firstMethod, workings, { exercise, probe });
  return doubts.filter(({ flag }) => flag === 'left-out').map(({ found }) => found).join('; ');
};

describe('a flag that goes because something is left out', () => {
  it('leaves a trace where the stretch lies wholly in the settling time', () => {
    const place = ofProbe('exercise-2', 'thigh');
    const record = freed(open, place.from + 1e6, place.from + 4.8e6);
    const left = stretch(place.from + 2e6, place.from + 5.8e6);
    const [before, after] = both(record, left);
    expect(after.leftOut?.[0]?.readings).toBe(0);
    expect(flaggedBy(before, 'no-flow')).toEqual(['exercise-2 thigh']);
    expect(flaggedBy(after, 'no-flow')).toEqual([]);
    expect(flaggedBy(after, 'left-out')).toEqual(['exercise-2 thigh']);
    expect(cellOf(after, 'exercise-2', 'thigh').flagged).toBe(true);
    expect(doubtIn(record, left, 'exercise-2', 'thigh')).toContain('no flow to be seen');
    // Means of all three kinds, and the trial, count it.
    const means = [
      after.probes.find(({ probe }) => probe === 'thigh'),
      after.exercises.find(({ exercise }) => exercise === 'exercise-2'),
      after.overall,
    ];
    for (const mean of means) expect(mean).toMatchObject({ cellsFlagged: 1, flagged: true, flags: ['left-out'] });
    expect(after.flags).toContain('left-out');
  });

  it('leaves a trace in the windows beside a blocked one that is left out', () => {
    const place = ofProbe('exercise-1', 'back');
    const [before, after] = both(whole(open, place), stretch(place.from, place.to + 2e6));
    expect(flaggedBy(before, 'no-flow')).toEqual(['exercise-1 back', 'exercise-2 back']);
    expect(flaggedBy(after, 'no-flow')).toEqual([]);
    expect(flaggedBy(after, 'left-out')).toEqual(expect.arrayContaining(['exercise-1 back', 'exercise-2 back']));
  });

  it('leaves a trace in all windows of a probe whose background was in doubt by the first of them', () => {
    const background = dwellWhere(({ dwell }) => dwell.purpose === 'background' && dwell.probe === 'back');
    const place = ofProbe('exercise-1', 'back');
    // Nothing in the other lines, whose backgrounds would say by themselves that this one is missing.
    const lines = ['hood', 'chest', 'thigh', 'ankle'].map((probe) =>
      dwellWhere(({ dwell }) => dwell.purpose === 'background' && dwell.probe === probe),
    );
    const record = lines.reduce(whole, whole(whole(open, background), place));
    const [before, after] = both(record, stretch(place.from, place.to + 2e6));
    const ofBack = ['exercise-1 back', 'exercise-2 back', 'exercise-3 back'];
    expect(flaggedBy(before, 'no-flow')).toEqual(ofBack);
    expect(flaggedBy(after, 'no-flow')).toEqual([]);
    expect(flaggedBy(after, 'left-out')).toEqual(expect.arrayContaining(ofBack));
  });
});

describe('by an adaptive method', () => {
  it.each([
    ['so that one fall fewer is used', 5],
    ['so that there are too few falls, and the rig has to say', 4],
  ])('a stretch in no window that takes out a fall is said by every value: %s', (_, exercises) => {
    const { record } = syntheticTrial({ noise: 4e-5, exercises });
    const zero = dwellWhere(
      ({ dwell: { exercise, purpose } }) => purpose === 'zero' && exercise === 'exercise-2',
      record,
    );
    const left = stretch(zero.from + 1.5e6, zero.from + 1.6e6);
    const [before, after] = both(record, left, adaptiveMethod);
    expect(after.leftOut?.[0]).toMatchObject({ readings: 0 });
    expect(after.timeConstant?.falls).toBe(exercises === 5 ? 5 : 0);
    expect(before.timeConstant?.falls).toBe(exercises + 1);
    expect(changed(before, after)).toEqual(namesOf(before.cells));
    expect(flaggedBy(after, 'left-out')).toEqual(namesOf(before.cells));
    expect(after.overall.cellsFlagged).toBe(before.cells.length);
  });
});

describe('the interval of the whole exercise', () => {
  const { record: even } = syntheticTrial({ noise: 4e-5, dwellsPerProbe: 2 });
  const ankles = even.events.filter(
    (event) =>
      event.kind === 'dwell-began' &&
      event.dwell.purpose === 'probe' &&
      event.dwell.exercise === 'exercise-2' &&
      event.dwell.probe === 'ankle',
  );
  const second = dwellWhere((event) => event === ankles[1], even);
  const wide = withReadings(second.from + 0.9e6, second.to + 0.9e6, (value) => 0.05 + 2 * (value - 0.05), even);
  const left = stretch(second.from, second.to + 0.5e6);
  const [before, after] = both(wide, left);
  const width = ({ exerciseHighPercent: high, exerciseLowPercent: low }: Cell): number =>
    (high ?? Number.NaN) - (low ?? Number.NaN);

  it('of no other value is narrower without a dwell of the value that scatters most', () => {
    expect(cellOf(before, 'exercise-2', 'ankle').flagged).toBe(false);
    expect(cellOf(after, 'exercise-2', 'ankle').flags).toEqual(['incomplete', 'left-out']);
    for (const [index, cell] of after.cells.entries()) {
      const was = before.cells[index] as Cell;
      if (cell.flagged) continue;
      expect(width(cell), namesOf([cell])[0]).toBeGreaterThanOrEqual(width(was));
    }
    expect(after.slice?.logStandard).toBe(before.slice?.logStandard);
  });

  it('goes out of the scatter that its explanation shows', () => {
    const workings = assessWithWorkings(wide, firstMethod, [left]);
    const { wholeExercise } = explainFrom(wide, firstMethod, workings, { exercise: 'exercise-1', probe: 'hood' });
    expect(wholeExercise).toMatchObject({ ...after.slice });
    expect(cellOf(after, 'exercise-1', 'hood').flags).toEqual(cellOf(before, 'exercise-1', 'hood').flags);
  });
});
