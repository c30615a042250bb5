import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import type { Flag } from '../../../src/leakage/flag.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import type { Method } from '../../../src/model/method.ts';
import {
  cellOf,
  dwellWhere,
  expectOnly,
  purposes,
  record,
  withEvents,
  without,
  withReadings,
} from '../../support/spoiled-trial.ts';
import { nominal, syntheticTrial } from '../../support/synthetic-trial.ts';

describe('missing inputs leave null and a flag, never an error', () => {
  const noNumber = (source: ReturnType<typeof assess>, flag: Flag): void => {
    expect(source.cells).toHaveLength(15);
    for (const cell of source.cells) {
      expect(cell.windowPercent).toBeNull();
      expect(cell.flags).toContain(flag);
    }
    expect(source.overall).toMatchObject({
      windowPercent: null,
      protectionFactor: null,
      cells: 0,
      cellsMissing: 15,
      flagged: true,
    });
  };

  it('no zero', () => {
    const changed = assess(withEvents(without(...purposes('zero'))), firstMethod);
    noNumber(changed, 'no-zero');
    expect(changed.blank).toBeNull();
  });

  it('no reference: the entry does not stand in for one', () => {
    const references = record.events.flatMap((event) =>
      event.kind === 'dwell-began' && event.dwell.purpose === 'reference' && event.dwell.stage !== 'entry'
        ? [event.dwell.dwell]
        : [],
    );
    noNumber(assess(withEvents(without(...references)), firstMethod), 'no-reference');
  });

  it('no background, unless the method does without', () => {
    const bare = withEvents(without(...purposes('background')));
    noNumber(assess(bare, firstMethod), 'no-background');
    const method: Method = { ...firstMethod, subtractBackground: false };
    expect(assess(bare, method).cells.some(({ flagged }) => flagged)).toBe(false);
  });

  it('no challenge: the reference reads like filtered air', () => {
    const dead = syntheticTrial({ noise: 4e-5 });
    const changed = assess(
      withReadings(0, Infinity, (value) => Math.min(value, 0.05), dead.record),
      firstMethod,
    );
    for (const cell of changed.cells) expect(cell.windowPercent).toBeNull();
    expect(changed.flags).toContain('no-reference');
  });

  it('a background without a confirmed port is no background', () => {
    const place = dwellWhere(({ dwell }) => dwell.purpose === 'background' && dwell.probe === 'thigh');
    const changed = assess(
      withEvents((events) =>
        events.filter((event) => !(event.kind === 'port-acknowledged' && event.dwell === place.dwell)),
      ),
      firstMethod,
    );
    expectOnly(
      changed,
      'no-background',
      [1, 2, 3].map((exercise) => [`exercise-${exercise}`, 'thigh']),
    );
  });

  it('a trial that was stopped keeps what it has: values are held, and flagged as held', () => {
    const closing = record.events.flatMap((event) =>
      event.kind === 'dwell-began' && event.dwell.stage === 'closing' ? [event.dwell.dwell] : [],
    );
    const changed = assess(withEvents(without(...closing)), firstMethod);
    for (const cell of changed.cells) {
      expect(cell.windowPercent).not.toBeNull();
      expect(cell.flags).toEqual(cell.exercise === 'exercise-3' ? ['unbracketed'] : []);
    }
  });

  it.each([
    ['no events', { events: [] }],
    ['no streams', { streams: [] }],
  ])('a record without anything is refused: %s', (_, nothing) => {
    let thrown: unknown = null;
    try {
      assess({ ...record, ...nothing }, firstMethod);
    } catch (error) {
      thrown = error;
    }
    expect(isChambersideError(thrown, 'record-insufficient')).toBe(true);
  });
});

describe('limits of the method', () => {
  const method = (changes: Partial<Method>): Method => ({ ...firstMethod, ...changes });

  it('challenge-unstable: references around a window differ', () => {
    expect(assess(record, method({ challengeChangePercent: 0.2 })).flags).toContain('challenge-unstable');
    const reference = dwellWhere(({ dwell }) => dwell.purpose === 'reference' && dwell.exercise === 'exercise-3');
    const fallen = assess(
      withReadings(reference.from, reference.to + 900_000, (value) => 0.85 * value),
      firstMethod,
    );
    expect(cellOf(fallen, 'exercise-1', 'chest').flags).toEqual([]);
    expect(cellOf(fallen, 'exercise-2', 'chest').flags).toEqual(['challenge-unstable']);
    expect(cellOf(fallen, 'exercise-3', 'chest').flags).toEqual(['challenge-unstable']);
  });

  it('drift-exceeded: zeros around a window differ', () => {
    const zero = dwellWhere(({ dwell }) => dwell.purpose === 'zero' && dwell.exercise === 'exercise-3');
    const moved = assess(
      withReadings(zero.from - 500_000, zero.to + 500_000, (value) => value + 0.004 * nominal),
      firstMethod,
    );
    expect(cellOf(moved, 'exercise-1', 'chest').flags).toEqual([]);
    expect(cellOf(moved, 'exercise-2', 'chest').flags).toContain('drift-exceeded');
    expect(cellOf(moved, 'exercise-3', 'chest').flags).toContain('drift-exceeded');
  });

  it('drift-exceeded: the span moved from the first reference to the last, for every cell', () => {
    const drifting = syntheticTrial({ spanDrift: -0.6, challengeDrift: -0.6 });
    for (const cell of assess(drifting.record, firstMethod).cells) expect(cell.flags).toContain('drift-exceeded');
    expect(assess(drifting.record, method({ spanChangePercent: 90, challengeChangePercent: 50 })).flags).not.toContain(
      'drift-exceeded',
    );
  });

  it('unsettled: the share allowed decides', () => {
    expect(
      assess(record, method({ carryOverPercent: 1e-6 })).cells.every(({ flags }) => flags.includes('unsettled')),
    ).toBe(true);
  });

  it('zero-not-settled: a slow tail of one thousandth is seen in every trial, none without it', () => {
    for (let seed = 1; seed <= 6; seed += 1) {
      const tail = assess(syntheticTrial({ seed, noise: 4e-5, tailShare: 1e-3 }).record, firstMethod);
      expect(tail.cells.every(({ flags }) => flags.includes('zero-not-settled'))).toBe(true);
      const clean = assess(syntheticTrial({ seed, noise: 4e-5 }).record, firstMethod);
      expect(clean.cells.filter(({ flagged }) => flagged)).toEqual([]);
    }
  });

  it('zero-not-settled: a falling zero that its neighbours explain is drift, not a tail', () => {
    const falling = syntheticTrial({ noise: 4e-5, zeroDrift: -0.05 });
    expect(assess(falling.record, firstMethod).flags).not.toContain('zero-not-settled');
  });
});
