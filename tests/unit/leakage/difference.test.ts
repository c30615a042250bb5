import { describe, expect, it } from 'vitest';
import { adaptiveMethod } from '../../../src/leakage/adaptive-method.ts';
import { assess } from '../../../src/leakage/assess.ts';
import type { Assessment } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { differenceOf, differenceSchema } from '../../../src/leakage/difference.ts';
import type { ComparedAssessment } from '../../../src/leakage/difference.ts';
import { cellOf, healthy, record } from '../../support/spoiled-trial.ts';

/** Held against arithmetic on the two assessments themselves; no outside source knows these records. */
const side = (details: Assessment, more: Partial<ComparedAssessment> = {}): ComparedAssessment => ({
  assessment: 'a-000000000001',
  position: 1,
  createdAt: '2026-11-24T14:03:00.000Z',
  program: '0.1.0',
  method: firstMethod,
  review: null,
  details,
  ...more,
});
const exercise = record.series.exercises[0]?.exercise ?? '';
const changed = (change: (cell: Assessment['cells'][number]) => Assessment['cells'][number]): Assessment => ({
  ...healthy,
  cells: healthy.cells.map((cell) => (cell.exercise === exercise && cell.probe === 'chest' ? change(cell) : cell)),
});
const chestOf = (after: Assessment) => {
  const found = differenceOf(side(healthy), side(after, { position: 2 }));
  const cell = found.cells.find((one) => one.exercise === exercise && one.probe === 'chest');
  if (cell === undefined) throw new Error('no such cell');
  return { found, cell };
};
const was = cellOf(healthy, exercise, 'chest');

describe('the difference of two assessments', () => {
  it('is none where they are the same', () => {
    const found = differenceOf(side(healthy), side(healthy));
    expect(found.cellsChanged).toBe(0);
    expect(found.method).toEqual([]);
    expect(found.cells.every(({ changePercent, same }) => same && changePercent === 0)).toBe(true);
    expect(differenceSchema.parse(JSON.parse(JSON.stringify(found)))).toEqual(found);
  });

  it('gives the change in percent of the value before, and in units of the wider interval', () => {
    const half = was.windowExpandedPercent ?? Number.NaN;
    const { cell, found } = chestOf(
      changed((one) => ({
        ...one,
        windowPercent: (one.windowPercent ?? 0) + 3 * half,
        windowExpandedPercent: 2 * half,
        flags: ['gap'],
      })),
    );
    expect(cell.changePercent).toBeCloseTo((300 * half) / (was.windowPercent ?? 0), 9);
    expect(cell.ofStatedUncertainty).toBeCloseTo(1.5, 9);
    expect(cell.flagsGained).toEqual(['gap']);
    expect(found.cellsChanged).toBe(1);
  });

  it('is no number where a value is missing, or where there was nothing', () => {
    const gone = chestOf(changed((one) => ({ ...one, windowPercent: null, windowExpandedPercent: null })));
    const nothing = { afterPercent: null, changePercent: null, ofStatedUncertainty: null, same: false };
    expect(gone.cell).toMatchObject(nothing);
    const from = side(changed((one) => ({ ...one, windowPercent: 0 })));
    const cell = differenceOf(from, side(healthy)).cells.find((one) => !one.same);
    expect(cell?.changePercent).toBeNull();
    expect(cell?.ofStatedUncertainty).toBeGreaterThan(0);
  });

  it('counts a change of the interval alone', () => {
    const { cell } = chestOf(changed((one) => ({ ...one, windowHighPercent: (one.windowHighPercent ?? 0) * 1.1 })));
    expect(cell).toMatchObject({ changePercent: 0, same: false, flagsGained: [], flagsLost: [] });
  });

  it('tells a change of the interval of the whole exercise apart, and counts it', () => {
    const { cell, found } = chestOf(
      changed((one) => ({ ...one, exerciseHighPercent: (one.exerciseHighPercent ?? 0) * 0.9 })),
    );
    expect(cell).toMatchObject({ same: true, sameExercise: false, beforeExerciseHighPercent: was.exerciseHighPercent });
    expect(cell.afterExerciseHighPercent).toBe((was.exerciseHighPercent ?? 0) * 0.9);
    expect(found).toMatchObject({ cellsChanged: 0, exerciseIntervalsChanged: 1, overall: { sameExercise: true } });
  });

  it('names the fields of the methods that differ, and the time constants', () => {
    const after = side(assess(record, adaptiveMethod), { method: adaptiveMethod });
    const found = differenceOf(side(healthy), after);
    expect(found.method).toEqual([
      { field: 'name', before: 'first', after: 'adaptive' },
      { field: 'zeroSettlingSeconds', before: 9, after: 3 },
      { field: 'settling.rule', before: 'fixed', after: 'adaptive' },
      { field: 'settling.seconds', before: 5, after: 2 },
      { field: 'settling.windowSeconds', before: null, after: 2 },
    ]);
    expect(found.timeConstantSeconds).toEqual({ before: null, after: after.details.timeConstant?.seconds.value });
  });

  it('shows a cell that only one of them has', () => {
    const fewer = { ...healthy, cells: healthy.cells.slice(1) };
    expect(differenceOf(side(fewer), side(healthy)).cells.at(-1)).toMatchObject({
      exercise: healthy.cells[0]?.exercise,
      beforePercent: null,
      beforeReadings: null,
    });
  });

  it('is of one trial', () => {
    expect(() => differenceOf(side(healthy), side({ ...healthy, trial: 't-000000000009' }))).toThrow(RangeError);
  });
});
