import { describe, expect, it } from 'vitest';
import { short } from '../../../../drivers/virtual-rig/scenarios/short.ts';
import type { DwellView } from '../../../../src/bridge/trial-snapshot.ts';
import { measuredDrift, watchAfterList } from '../../../../src/host/runtime/after-list.ts';
import type { DriftMoment } from '../../../../src/host/runtime/after-list.ts';
import { tellStory } from '../../../../src/host/runtime/view/trial-story.ts';
import { firstMethod } from '../../../../src/leakage/default-method.ts';
import { beginProvisional } from '../../../../src/leakage/provisional.ts';
import type { SettledMean } from '../../../../src/leakage/provisional.ts';
import type { TrialEvent } from '../../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import type { AfterWanted } from '../../../../src/trial/after.ts';
import { prepareMachine } from '../../../../src/trial/machine-state.ts';
import type { TrialMachine } from '../../../../src/trial/machine-state.ts';

const { rig, series } = short;
const schedule = compileSchedule(series, rig);
const second = 1_000_000;
const belt = rig.heartRate ?? '';

/** A closed trial whose subject entered and whose last effort ended at 100 s. */
function closedTrial(virtual: boolean, rateAt: (second: number) => number) {
  const entered = { kind: 'cue', cue: 'enter', exercise: null, text: '', atMicroseconds: 10 * second } as const;
  const moved = { exercise: 'march', attempt: 1 };
  const events: TrialEvent[] = [
    entered,
    { kind: 'exercise-began', ...moved, atMicroseconds: 60 * second },
    { kind: 'exercise-ended', ...moved, complete: false, atMicroseconds: 100 * second },
  ];
  const story = tellStory();
  const now = { seconds: 60 };
  const machine: TrialMachine = { ...prepareMachine(schedule), phase: 'closed' };
  const list = watchAfterList({
    header: {
      ...{ trial: 't-000000000001', study: 's-000000000001', subject: 'S01', ensemble: 'A', operator: 'KL' },
      ...{ virtual, program: '0.1.0' },
    },
    ...{ rig, schedule, story, method: firstMethod, unit: 'mg/m3', provisional: beginProvisional },
    session: {
      machine,
      noteAfter(answer) {
        story.follow({ kind: 'after-answered', atMicroseconds: now.seconds * second, ...answer });
        return { accepted: true };
      },
    },
    now: () => now.seconds * second,
  });
  for (; now.seconds <= 170; now.seconds += 1) {
    for (const event of events.splice(0)) {
      if (event.atMicroseconds <= now.seconds * second) story.follow(event);
      else events.push(event);
    }
    const value = rateAt(now.seconds);
    list.observeReading({ instrument: belt, stream: 'heart-rate', atMicroseconds: now.seconds * second, value });
  }
  const say = (item: AfterWanted['item'], answer: AfterWanted['answer'], note = '') =>
    list.answer({ item, answer, persons: ['KL'], note });
  return { list, machine, say, story };
}

const mean = (dwell: number, reading: number): SettledMean => {
  return { dwell, reading, squaredWeights: 0.01, toMicroseconds: dwell };
};
/** Nothing has moved so far; zero and reference are those of dwells 7 and 8. */
const driftMoment: DriftMoment = {
  ...{ rig, method: firstMethod, unit: 'mg/m3', phase: 'running', dwells: [], nowMicroseconds: 95 * second },
  provisional: {
    ...beginProvisional(),
    ...{ firstReferenceZero: mean(0, 0.01), firstReference: mean(1, 20), reference: mean(7, 20), zero: mean(8, 0.01) },
  },
};
const closingZero = (dwell: number, endedAtMicroseconds: number | null): DwellView => ({
  ...{ dwell, step: 9, stage: 'closing', purpose: 'zero', port: 1, probe: 'zero', exercise: null },
  ...{ dwellPosition: null, attempt: 0, plannedAtMicroseconds: 80 * second, requestedAtMicroseconds: 80 * second },
  ...{ acknowledgedAtMicroseconds: 81 * second, unconfirmed: false, endedAtMicroseconds, complete: true },
});

describe('the list of after the trial, beside the readings of a belt', () => {
  it('measures the recovery from them, and keeps what it measured with the answer', () => {
    const { list, say, story } = closedTrial(false, (at) => (at <= 100 ? 150 : Math.max(90, 150 - (at - 100))));
    expect(list.lines[0]?.measured).toMatchObject({ verdict: 'good' });
    say('recovery', 'confirmed');
    expect(story.after.get('recovery')?.measured).toMatch(/^Heart rate \d+ \/min .*: back$/);
  });

  it('takes no good word for a subject whose rate is not back', () => {
    const { list, say } = closedTrial(false, () => 140);
    expect(list.lines[0]?.measured).toMatchObject({ verdict: 'doubt' });
    expect(() => say('recovery', 'confirmed')).toThrowError(/not back/);
  });

  it('holds the sealing of a real trial until every item is answered', async () => {
    const { list, say } = closedTrial(false, () => 90);
    let sealed = false;
    const done = list.done().then(() => (sealed = true));
    for (const item of ['recovery', 'symptoms', 'ensemble'] as const) say(item, 'confirmed');
    await Promise.resolve();
    expect([list.holds, sealed]).toEqual([true, false]);
    say('drift', 'passed-over', 'stopped before there were two');
    await done;
    expect(list.holds).toBe(false);
  });

  it('holds it again when an answer is taken back that had been given before the trial closed', async () => {
    const { list, machine, say } = closedTrial(false, () => 90);
    machine.phase = 'stopped';
    for (const item of ['recovery', 'symptoms', 'ensemble'] as const) say(item, 'confirmed');
    say('drift', 'passed-over', 'stopped before there were two');
    say('symptoms', 'withdrawn');
    machine.phase = 'closed';
    let sealed = false;
    const done = list.done().then(() => (sealed = true));
    say('drift', 'withdrawn');
    say('drift', 'noted', 'seen');
    await new Promise((resolve) => setImmediate(resolve));
    expect([list.holds, sealed]).toEqual([true, false]);
    say('symptoms', 'noted', 'headache');
    await done;
  });

  it('says of a held trial to go on or stop first, not that the series goes on', () => {
    const { machine, say } = closedTrial(false, () => 90);
    machine.phase = 'held';
    expect(() => say('symptoms', 'confirmed')).toThrowError(
      expect.objectContaining({ what: 'the trial is held', remedy: 'Go on or stop first, then answer.' }),
    );
  });

  it('does not judge the drift by the middle of the trial while its end is still to be read', () => {
    const verdict = (more: Partial<DriftMoment>): string => measuredDrift({ ...driftMoment, ...more }).verdict;
    expect(verdict({})).toBe('open');
    expect(verdict({ dwells: [closingZero(9, null)] })).toBe('open');
    // Closed, and its air is still on its way; then it never came: the middle of the trial does not stand in for it.
    const ended = [closingZero(9, 100 * second)];
    expect(verdict({ phase: 'closed', dwells: ended, nowMicroseconds: 100 * second })).toBe('open');
    expect(verdict({ phase: 'closed', dwells: ended, nowMicroseconds: 200 * second })).toBe('open');
    expect(verdict({ phase: 'stopped' })).toBe('good');
    expect(verdict({ dwells: [closingZero(8, 90 * second)] })).toBe('good');
  });

  it('holds that of a virtual one only once somebody has begun it', async () => {
    const untouched = closedTrial(true, () => 90).list;
    expect([untouched.lines.length, untouched.holds]).toEqual([4, false]);
    await untouched.done();
    const { list, say } = closedTrial(true, () => 90);
    say('symptoms', 'confirmed');
    expect(list.holds).toBe(true);
    say('symptoms', 'withdrawn');
    expect(list.holds).toBe(false);
    await list.done();
  });
});
