import { describe, expect, it } from 'vitest';
import { demo } from '../../../../../drivers/virtual-rig/scenarios/demo.ts';
import { trialSnapshotSchema } from '../../../../../src/bridge/trial-snapshot.ts';
import type { TrialSnapshot } from '../../../../../src/bridge/trial-snapshot.ts';
import { trialView } from '../../../../../src/host/runtime/view/trial.ts';
import type { TrialViewInput } from '../../../../../src/host/runtime/view/trial.ts';
import { tellStory } from '../../../../../src/host/runtime/view/trial-story.ts';
import { firstMethod } from '../../../../../src/leakage/default-method.ts';
import { beginProvisional } from '../../../../../src/leakage/provisional.ts';
import type { ProvisionalLeakage } from '../../../../../src/leakage/provisional.ts';
import { compileSchedule } from '../../../../../src/series/compile.ts';
import { beforeLines } from '../../../../../src/trial/before.ts';
import { Drive } from '../../../trial/drive.ts';

const { rig, series } = demo;
const schedule = compileSchedule(series, rig);
const second = 1_000_000;
const march = schedule.exercises[0]!;
const bends = schedule.exercises[1]!;

function started(): Drive {
  const drive = new Drive(schedule);
  drive.act('start', 10 * second);
  return drive;
}

function view(drive: Drive, part: Partial<TrialViewInput> = {}): TrialSnapshot {
  const nowMicroseconds = part.nowMicroseconds ?? drive.state.nowMicroseconds;
  return trialSnapshotSchema.parse(
    trialView({
      file: 'study.chamberside',
      header: {
        trial: 't-000000000001',
        study: 's-000000000001',
        subject: 'S01',
        ensemble: 'A',
        operator: 'anna',
        virtual: true,
        program: '0.1.0',
        requirementPercent: 1,
      },
      rig,
      series,
      method: firstMethod,
      schedule,
      machine: drive.state,
      story: tellStory(drive.events),
      provisional: beginProvisional(),
      running: null,
      dwellFlags: new Map(),
      newestReadingMicroseconds: nowMicroseconds,
      intervalMicroseconds: 50_000,
      ending: 'no',
      endingFailure: null,
      mayStart: true,
      readings: 0,
      heartRateLimit: 160,
      subjectStop: 'armed',
      before: beforeLines(new Map(), false),
      ...{ after: [], afterHolds: false },
      ...part,
      nowMicroseconds,
    }),
  );
}

/** At the beginning of a step, its port confirmed, and then so many seconds later. */
function inStep(step: number, seconds: number): { readonly drive: Drive; readonly at: number } {
  const drive = started();
  drive.runToStep(step);
  drive.acknowledge();
  return { drive, at: drive.state.nowMicroseconds + seconds * second };
}

describe('now and next', () => {
  it('of a prepared trial', () => {
    const drive = new Drive(schedule);
    const { now, next, planned, allowed, endsAtMicroseconds } = view(drive, { nowMicroseconds: 3 * second });
    expect(now).toMatchObject({ kind: 'prepared', stage: null, untilMicroseconds: null, air: 'none' });
    expect(next).toEqual({ kind: 'background', exercise: null, seconds: null });
    expect(planned).toHaveLength(12);
    expect(planned[0]).toMatchObject({ probe: 'filtered-air', fromMicroseconds: 3 * second });
    expect(endsAtMicroseconds).toBe(3 * second + schedule.durationMicroseconds);
    expect(allowed).toEqual(['start', 'stop', 'close', 'mark', 'valve']);
    expect(view(drive, { mayStart: false }).allowed).not.toContain('start');
  });

  it('of the background last until its last dwell', () => {
    const { drive, at } = inStep(2, 1);
    const { now, next } = view(drive, { nowMicroseconds: at });
    const background = 2 * series.background.zeroSeconds + 5 * series.background.dwellSeconds;
    expect(now).toMatchObject({
      kind: 'background',
      sinceMicroseconds: 10 * second,
      untilMicroseconds: (10 + background) * second,
      purpose: 'background',
    });
    expect(next.kind).toBe('waiting');
  });

  it('of the wait for the challenge have no end', () => {
    const { drive, at } = inStep(7, 5);
    const { now, next } = view(drive, { nowMicroseconds: at });
    expect(now).toMatchObject({
      kind: 'waiting',
      stage: 'entry',
      untilMicroseconds: null,
      dwellUntilMicroseconds: null,
    });
    expect(next).toEqual({ kind: 'rest', exercise: 'march', seconds: 30 });
  });

  it('of a rest last until the first movement, across the change to filtered air', () => {
    const { drive, at } = inStep(march.restStep, 5);
    const began = at - 5 * second;
    const rest = { kind: 'rest', exercise: 'march', sinceMicroseconds: began, untilMicroseconds: began + 30 * second };
    expect(view(drive, { nowMicroseconds: at }).now).toMatchObject({ ...rest, purpose: 'reference' });
    drive.runToStep(march.zeroStep ?? -1);
    drive.acknowledge();
    const { now, next } = view(drive, { nowMicroseconds: began + 29 * second });
    expect(now).toMatchObject({ ...rest, purpose: 'zero' });
    expect(next).toEqual({ kind: 'exercise', exercise: 'march', seconds: 110 });
    const moving = view(drive, { nowMicroseconds: began + 31 * second });
    expect(moving.now).toMatchObject({
      kind: 'lead-in',
      sinceMicroseconds: began + 30 * second,
      untilMicroseconds: began + 140 * second,
    });
    expect(moving.next).toEqual({ kind: 'rest', exercise: bends.exercise, seconds: 30 });
  });

  it('of a rest that was lengthened last as much longer, in both its halves, and so does the trial', () => {
    const { drive, at } = inStep(march.restStep, 5);
    const before = view(drive, { nowMicroseconds: at });
    drive.act('extend-rest', at);
    drive.act('extend-rest', at);
    const began = at - 5 * second;
    const rest = { kind: 'rest', sinceMicroseconds: began, lengthenedMicroseconds: 60 * second };
    const longer = view(drive, { nowMicroseconds: at });
    expect(longer.now).toMatchObject({ ...rest, untilMicroseconds: began + 90 * second, purpose: 'reference' });
    expect(longer.endsAtMicroseconds).toBe((before.endsAtMicroseconds ?? 0) + 60 * second);
    expect(longer.planned[0]?.fromMicroseconds).toBe((before.planned[0]?.fromMicroseconds ?? 0) + 60 * second);
    expect(longer.exercises.map((one) => one.restLengthenedSeconds).slice(0, 2)).toEqual([60, 0]);
    expect(longer.exercises[0]?.restSeconds).toBe(30);
    expect(longer.notes.at(-1)).toMatchObject({
      kind: 'rest-lengthened',
      text: 'Rest before march 30 s longer',
      person: 'p1',
    });
    drive.runToStep(march.zeroStep ?? -1);
    drive.acknowledge();
    const inZero = drive.state.nowMicroseconds + second;
    drive.act('extend-rest', inZero);
    const last = view(drive, { nowMicroseconds: inZero });
    const whole = { untilMicroseconds: began + 120 * second, lengthenedMicroseconds: 90 * second };
    expect(last.now).toMatchObject({ ...rest, ...whole, purpose: 'zero' });
    drive.act('stop');
    // Nobody has moved: it is no exercise that was left out.
    expect(view(drive).exercises[0]).toMatchObject({ state: 'to-come', restLengthenedSeconds: 90 });
  });

  it('of an exercise last over all its dwells', () => {
    const { drive, at } = inStep(march.firstProbeStep + 2, 3);
    const first = at - 3 * second - 36 * second;
    const { now, next, exercises } = view(drive, { nowMicroseconds: at });
    expect(now).toMatchObject({
      kind: 'exercise',
      exercise: 'march',
      sinceMicroseconds: first,
      untilMicroseconds: first + 90 * second,
      dwellUntilMicroseconds: first + 54 * second,
    });
    expect(next).toEqual({ kind: 'rest', exercise: bends.exercise, seconds: 30 });
    expect(exercises.map(({ state }) => state)).toEqual(['now', ...Array.from({ length: 9 }, () => 'to-come')]);
    expect(exercises[0]).toMatchObject({ attempts: 1, beganAtMicroseconds: first - 20 * second });
  });

  it('of a hold say why, since when, and what follows', () => {
    const { drive, at } = inStep(march.firstProbeStep + 1, 4);
    drive.send({ input: 'action', action: 'hold', atMicroseconds: at, person: 'anna', note: 'shoe', exercise: null });
    const later = at + 20 * second;
    const { now, next, heldBecause, reason, planned, allowed } = view(drive, { nowMicroseconds: later });
    expect(now).toMatchObject({ kind: 'held', exercise: 'march', sinceMicroseconds: at, port: 7, purpose: null });
    expect([heldBecause, reason]).toEqual(['operator', 'shoe']);
    expect(next).toMatchObject({ kind: 'exercise', exercise: 'march' });
    // A fresh lead-in, then the broken dwell, then what was left.
    expect(planned.slice(0, 3).map(({ purpose }) => purpose)).toEqual(['zero', 'probe', 'probe']);
    expect(planned[0]?.fromMicroseconds).toBe(later);
    expect(planned[1]?.probe).toBe(schedule.steps[march.firstProbeStep + 1]?.probe);
    expect(allowed).toEqual(['go-on', 'repeat', 'skip', 'stop', 'close', 'mark', 'valve']);
    expect(view(drive, { mayStart: false }).allowed).not.toContain('go-on');
    expect(view(drive, { ending: 'sealing' }).allowed).toEqual([]);
  });

  it('of a stop and of the end have nothing after them', () => {
    const { drive, at } = inStep(march.firstProbeStep, 4);
    drive.act('stop', at);
    const stopped = view(drive);
    expect(stopped).toMatchObject({ now: { kind: 'stopped' }, next: { kind: 'end' }, planned: [] });
    expect(stopped.endsAtMicroseconds).toBeNull();
    expect(stopped.exercises[0]?.state).toBe('skipped');
    const whole = started();
    whole.runUntil(() => whole.state.phase === 'closed');
    const closed = view(whole);
    expect(closed).toMatchObject({ now: { kind: 'closed' }, next: { kind: 'end' } });
    expect(closed.exercises.every(({ state }) => state === 'done')).toBe(true);
    expect(closed.dwells).toHaveLength(schedule.steps.length);
  });

  it('tell an exercise that was skipped from one that was done', () => {
    const { drive, at } = inStep(march.firstProbeStep + 1, 2);
    drive.act('skip', at);
    drive.runToStep(bends.firstProbeStep);
    expect(
      view(drive)
        .exercises.slice(0, 3)
        .map(({ state }) => state),
    ).toEqual(['skipped', 'now', 'to-come']);
  });
});

describe('the air', () => {
  const step = march.firstProbeStep;
  const at = (seconds: number, part: Partial<TrialViewInput> = {}): TrialSnapshot['now'] => {
    const { drive, at: moment } = inStep(step, seconds);
    return view(drive, { ...part, nowMicroseconds: moment }).now;
  };

  it('is on its way, settles, and is usable when the assessment says so', () => {
    const acknowledged = inStep(step, 0).at;
    // Common line 0.5 s and instrument 0.1 s, then 5 s of settling by the method.
    expect(at(0.3)).toMatchObject({ air: 'transit', usableFromMicroseconds: acknowledged + 5.6 * second });
    expect(at(2)).toMatchObject({ air: 'settling', usableFromMicroseconds: acknowledged + 5.6 * second });
    expect(at(5.5).air).toBe('settling');
    expect(at(5.7)).toMatchObject({ air: 'usable', usableFromMicroseconds: null });
  });

  it('is moving until the valve has answered, and unconfirmed when it does not', () => {
    const drive = started();
    drive.runToStep(step);
    expect(view(drive).now.air).toBe('moving');
    const request = drive.state.request?.request ?? -1;
    const now = drive.state.nowMicroseconds + second;
    drive.send({ input: 'port-unconfirmed', atMicroseconds: now, request, detail: 'silent' });
    const seen = view(drive);
    expect(seen.now.air).toBe('unconfirmed');
    expect(seen.lanes.find(({ probe }) => probe === seen.now.probe)).toMatchObject({ state: 'no-result' });
    expect(seen.notes.at(-1)).toMatchObject({ kind: 'port-unconfirmed' });
  });

  it('is nothing when the photometer gives no readings', () => {
    const { drive, at: moment } = inStep(step, 8);
    const quiet = { nowMicroseconds: moment, newestReadingMicroseconds: moment - 600_000 };
    expect(view(drive, quiet).now.air).toBe('no-reading');
    expect(view(drive, { ...quiet, newestReadingMicroseconds: moment - 400_000 }).now.air).toBe('usable');
    expect(view(drive, { ...quiet, intervalMicroseconds: second }).now.air).toBe('usable');
    expect(view(drive, { ...quiet, newestReadingMicroseconds: null }).now.air).toBe('no-reading');
  });
});

describe('lanes', () => {
  const leakage: ProvisionalLeakage = {
    dwell: 12,
    exercise: 'march',
    windowPercent: 0.5,
    windowLowPercent: 0.46,
    windowHighPercent: 0.54,
    detectionLimitPercent: 0.01,
    measuredToMicroseconds: 99 * second,
    usableSeconds: 12,
    flags: [],
  };
  const first = schedule.steps[march.firstProbeStep]?.probe ?? '';

  it('stand in body order and know nothing at first', () => {
    const { lanes } = view(started());
    expect(lanes.map(({ probe }) => probe)).toEqual(['hood', 'chest', 'lower-back', 'thigh', 'ankle']);
    expect(lanes.every(({ state, windowPercent }) => state === 'not-yet' && windowPercent === null)).toBe(true);
    // 18 s less switching twice, settling and three dispersions.
    expect(lanes[0]?.usableSecondsPlanned).toBeCloseTo(18 - 0.15 - 5 - 0.24 - 0.15, 6);
  });

  it('keep the last value while new air settles, and show the new one as it is measured', () => {
    const provisional = { ...beginProvisional(), leakages: { [first]: leakage } };
    const running = { ...leakage, dwell: 20, windowPercent: 0.7, usableSeconds: 2, flags: ['incomplete' as const] };
    const lane = (seconds: number): TrialSnapshot['lanes'][number] | undefined => {
      const { drive, at } = inStep(march.firstProbeStep, seconds);
      const { lanes } = view(drive, { provisional, running, nowMicroseconds: at });
      return lanes.find(({ probe }) => probe === first);
    };
    expect(lane(2)).toMatchObject({ state: 'settling', windowPercent: 0.5, windowLowPercent: 0.46, usableSeconds: 0 });
    expect(lane(8)).toMatchObject({ state: 'measuring', windowPercent: 0.7, usableSeconds: 2, flags: [] });
  });

  it('wait with an age, or say why there is no number', () => {
    const flat: ProvisionalLeakage = { ...leakage, windowPercent: null, flags: ['flat-signal'] };
    const low: ProvisionalLeakage = { ...leakage, windowPercent: 0.004, flags: ['below-detection-limit'] };
    const provisional = { ...beginProvisional(), leakages: { hood: leakage, chest: flat, thigh: low } };
    const [hood, chest, , thigh] = view(started(), { provisional }).lanes;
    expect(hood).toMatchObject({ state: 'waiting', windowPercent: 0.5, measuredToMicroseconds: 99 * second });
    expect(chest).toMatchObject({ state: 'no-result', windowPercent: null });
    expect(chest?.detail).toContain('fault');
    expect(thigh).toMatchObject({ state: 'waiting', windowPercent: 0.004, belowDetectionLimit: true });
  });
});

describe('the timeline', () => {
  it('carries the doubt of the newest attempt', () => {
    const drive = started();
    drive.runToStep(bends.restStep);
    const dwells = drive
      .of('dwell-began')
      .filter(({ dwell }) => dwell.exercise === 'march' && dwell.purpose === 'probe');
    const dwellFlags = new Map([[dwells[1]?.dwell.dwell ?? -1, ['gap', 'below-detection-limit'] as const]]);
    expect(view(drive, { dwellFlags }).exercises[0]).toMatchObject({ state: 'done', flags: ['gap'] });
    drive.act('repeat', drive.state.nowMicroseconds + second, 'march');
    drive.runToStep(march.firstProbeStep + 1);
    expect(view(drive, { dwellFlags }).exercises[0]).toMatchObject({ state: 'now', attempts: 2, flags: [] });
  });
});
