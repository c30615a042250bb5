import { describe, expect, it } from 'vitest';
import { short } from '../../../drivers/virtual-rig/scenarios/short.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { restOfSeries } from '../../../src/series/rest-of-series.ts';
import { repeatOffer } from '../../../src/trial/repeat.ts';

const { series } = short;
const [march, crawl] = series.exercises.map(({ exercise }) => exercise);
const closedFrom = (from: 'running' | 'stopped'): TrialEvent => {
  return { kind: 'phase-changed', atMicroseconds: 9, from, to: 'closed', reason: '', machine: null };
};
const ended = (exercise: string | undefined, complete: boolean): TrialEvent => {
  return { kind: 'exercise-ended', atMicroseconds: 5, exercise: exercise ?? '', attempt: 1, complete };
};

describe('what can be done again of a trial', () => {
  it('is nothing where it ran to its end and counts', () => {
    const events = [ended(march, true), ended(crawl, true), closedFrom('running')];
    expect(repeatOffer(series, events, false)).toBeNull();
    expect(repeatOffer(series, events, true)).toEqual({ because: 'void', from: null });
  });

  it('is the rest from the exercise that a stop broke off, once one before it was done whole', () => {
    const stopped = closedFrom('stopped');
    expect(repeatOffer(series, [ended(march, false), stopped], false)).toEqual({ because: 'stopped', from: null });
    const later = [ended(march, true), ended(crawl, false), stopped];
    expect(repeatOffer(series, later, false)).toEqual({ because: 'stopped', from: crawl });
    // Done whole once, and broken off when it was done again: not done.
    const began: TrialEvent = { kind: 'exercise-began', atMicroseconds: 6, exercise: crawl ?? '', attempt: 2 };
    const again = [ended(march, true), ended(crawl, true), began];
    expect(repeatOffer(series, [...again, ended(crawl, false), stopped], false)?.from).toBe(crawl);
    expect(repeatOffer(series, [...again, stopped], false)?.from).toBe(crawl);
    // Nothing of a void trial is gone on from.
    expect(repeatOffer(series, later, true)?.from).toBeNull();
  });
});

describe('the rest of a series', () => {
  it('is a series of its own that says so, with the probes in the order they would have had', () => {
    const rest = restOfSeries(series, crawl ?? '');
    if (rest === null) throw new Error('the series has no such exercise');
    expect(rest.exercises.map(({ exercise }) => exercise)).toEqual([crawl]);
    expect(rest.name).toContain('from Crawl');
    const orderIn = (of: typeof series): string[] =>
      compileSchedule(of, short.rig)
        .steps.filter((step) => step.exercise === crawl && step.purpose === 'probe')
        .map(({ probe }) => probe);
    expect(orderIn(rest)).toEqual(orderIn(series));
    expect(orderIn(rest)).toHaveLength(5);
  });

  it('is the series from its first exercise on, and none from one that it has not', () => {
    expect(restOfSeries(series, march ?? '')).toBe(series);
    expect(restOfSeries(series, 'swim')).toBeNull();
  });
});
