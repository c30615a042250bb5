import { describe, expect, it } from 'vitest';
import { createProvisionalTracker } from '../../../../src/host/runtime/provisional-tracker.ts';
import { watchConditions } from '../../../../src/host/runtime/trial-conditions.ts';
import { tellStory } from '../../../../src/host/runtime/view/trial-story.ts';
import { firstMethod } from '../../../../src/leakage/default-method.ts';
import { beginProvisional, provisionalOfRecord } from '../../../../src/leakage/provisional.ts';
import type { StreamRecord, TrialRecord } from '../../../../src/model/trial-record.ts';
import { prepareMachine } from '../../../../src/trial/machine-state.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import { syntheticTrial } from '../../../support/synthetic-trial.ts';

const { record } = syntheticTrial({ exercises: 2 });
const { rig } = record;
const photometer = photometerOf(record);
const end = photometer.atMicroseconds.at(-1) ?? 0;
const story = tellStory(record.events);
const secondExercise = record.series.exercises[1]?.exercise;
const segments = record.events.flatMap((event) => (event.kind === 'segment-began' ? [event.segment] : []));

function photometerOf({ streams }: TrialRecord): StreamRecord {
  const found = streams.find(({ descriptor }) => descriptor.instrument === rig.photometer);
  if (found === undefined) throw new Error('the synthetic trial has no photometer');
  return found;
}

/** A tracker that has all readings, and whose clock can be taken away from it. */
function trackerOf(mode: { broken: boolean }) {
  const tracker = createProvisionalTracker({
    breath: null,
    ...{ rig, method: firstMethod, stream: photometer.descriptor, firstDwell: 0, state: beginProvisional() },
    certificates: undefined,
    segments: () => {
      if (mode.broken) throw new RangeError('the time of a reading is in no segment');
      return segments;
    },
  });
  photometer.atMicroseconds.forEach((at, index) => {
    tracker.observeReading(at, photometer.values[index] ?? Number.NaN);
  });
  return tracker;
}

const lookMicroseconds = 250_000;

describe('live values that cannot be computed', () => {
  it('are the same whether looked at four times a second or once, more than eight dwells late', () => {
    const late = trackerOf({ broken: false });
    late.update(story.dwells, end + 5e6);
    const steady = trackerOf({ broken: false });
    for (let at = 0; at <= end + 5e6; at += 20 * lookMicroseconds) {
      steady.update(
        story.dwells.filter(({ endedAtMicroseconds }) => (endedAtMicroseconds ?? at) < at),
        at,
      );
    }
    expect(late.state).toEqual(steady.state);
    expect(late.state.leakages).toEqual(provisionalOfRecord(record, firstMethod).leakages);
    expect(story.dwells.length).toBeGreaterThan(8);
    expect(late.failure).toBeNull();
  });

  it('cost the dwell and nothing else: neither the host nor the next value', () => {
    const mode = { broken: true };
    const tracker = trackerOf(mode);
    expect(() => {
      tracker.update(story.dwells.slice(0, 1), end);
    }).not.toThrow();
    expect(story.dwells[0]?.purpose).toBe('zero');
    expect(tracker.failure).toBe('zero: the time of a reading is in no segment');
    expect(tracker.state).toEqual(beginProvisional());
    mode.broken = false;
    // Other air that is read well does not make up for it; the next zero does.
    tracker.update(story.dwells.slice(0, 3), end);
    expect(story.dwells.slice(1, 3).every(({ purpose }) => purpose === 'background')).toBe(true);
    expect(tracker.failure).toContain('zero: ');
    tracker.update(story.dwells, end + 5e6);
    expect(tracker.failure).toBeNull();
    expect(Object.keys(tracker.state.leakages).length).toBeGreaterThan(3);
  });

  it('mark the dwell of a probe as incomplete, and keep what was read before', () => {
    const mode = { broken: false };
    const tracker = trackerOf(mode);
    const at = story.dwells.findIndex(({ exercise, purpose }) => purpose === 'probe' && exercise === secondExercise);
    tracker.update(story.dwells.slice(0, at), end);
    const before = tracker.state;
    mode.broken = true;
    tracker.update(story.dwells.slice(0, at + 1), end);
    expect(tracker.state).toBe(before);
    const dwell = story.dwells[at];
    expect(tracker.failure).toContain(`probe ${dwell?.probe ?? ''}: `);
    expect(tracker.dwellFlags.get(dwell?.dwell ?? -1)).toEqual(['incomplete']);
  });

  it('are an alarm with its cause, and it clears', () => {
    const told: { alarm: string; standing: boolean; detail: string }[] = [];
    const conditions = watchConditions({
      ...{ rig, method: firstMethod, contacts: [] },
      observe: (alarm, _instrument, standing, detail) => told.push({ alarm, standing, detail }),
    });
    const machine = prepareMachine(compileSchedule(record.series, rig));
    const state = beginProvisional();
    conditions.judge(machine, { state, failure: 'the time of a reading is in no segment' }, 0);
    conditions.judge(machine, { state, failure: null }, 1);
    const live = told.filter(({ alarm }) => alarm === 'live-values-lost');
    expect(live.map(({ standing }) => standing)).toEqual([true, false]);
    expect(live[0]?.detail).toContain('in no segment');
  });
});
