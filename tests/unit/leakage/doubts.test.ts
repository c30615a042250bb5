import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { flagNames } from '../../../src/leakage/flag.ts';
import type { Flag } from '../../../src/leakage/flag.ts';
import type { LeftOut } from '../../../src/leakage/left-out.ts';
import type { Method } from '../../../src/model/method.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { streamOf } from '../../../src/model/trial-record.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import {
  cellOf,
  dwellWhere,
  expectOnly,
  healthy,
  ofProbe,
  purposes,
  record,
  withEvents,
  without,
  withReadings,
} from '../../support/spoiled-trial.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

describe('ports', () => {
  const place = ofProbe('exercise-2', 'back');

  it('an unconfirmed port leaves no number', () => {
    const changed = assess(
      withEvents((events) =>
        events.map((event): TrialEvent =>
          event.kind === 'port-acknowledged' && event.dwell === place.dwell
            ? {
                kind: 'port-unconfirmed',
                atMicroseconds: event.atMicroseconds,
                dwell: place.dwell,
                port: 3,
                detail: 'no answer',
              }
            : event,
        ),
      ),
      firstMethod,
    );
    expect(cellOf(changed, 'exercise-2', 'back')).toMatchObject({ windowPercent: null, flagged: true, readings: 0 });
    expectOnly(changed, 'port-unconfirmed', [['exercise-2', 'back']]);
    expect(changed.overall).toMatchObject({ cells: 14, cellsMissing: 1, flagged: true });
  });

  it('a wrong port leaves no number', () => {
    const changed = assess(
      withEvents((events) =>
        events.map((event) =>
          event.kind === 'port-acknowledged' && event.dwell === place.dwell ? { ...event, port: 4 } : event,
        ),
      ),
      firstMethod,
    );
    expect(cellOf(changed, 'exercise-2', 'back').windowPercent).toBeNull();
    expectOnly(changed, 'wrong-port', [['exercise-2', 'back']]);
  });

  it('a port that the rig does not have leaves no number', () => {
    const changed = assess(
      withEvents((events) =>
        events.map((event) =>
          event.kind === 'dwell-began' && event.dwell.dwell === place.dwell
            ? { ...event, dwell: { ...event.dwell, port: 31 } }
            : event,
        ),
      ),
      firstMethod,
    );
    expectOnly(changed, 'wrong-port', [['exercise-2', 'back']]);
  });
});

describe('dwells', () => {
  const place = ofProbe('exercise-2', 'back');
  const cutShort = (events: readonly TrialEvent[]): TrialEvent[] =>
    events.map((event) =>
      event.kind === 'dwell-ended' && event.dwell === place.dwell
        ? { ...event, complete: false, atMicroseconds: event.atMicroseconds - 5_000_000 }
        : event,
    );

  it('one that was cut short is used only because there is no other, and says so', () => {
    const cell = cellOf(assess(withEvents(cutShort), firstMethod), 'exercise-2', 'back');
    expect(cell.windowPercent).not.toBeNull();
    expect(cell.readings).toBeLessThan(cellOf(healthy, 'exercise-2', 'back').readings);
    expect(cell.flags).toEqual(['incomplete']);
  });

  it('a second, complete dwell at the same position takes its place', () => {
    const again = record.events.flatMap((event): TrialEvent[] => {
      if (!('dwell' in event)) return [];
      if (event.kind === 'dwell-began') {
        return event.dwell.dwell === place.dwell ? [{ ...event, dwell: { ...event.dwell, dwell: 900 } }] : [];
      }
      return event.dwell === place.dwell ? [{ ...event, dwell: 900 }] : [];
    });
    const cell = cellOf(
      assess(
        withEvents((events) => [...cutShort(events), ...again]),
        firstMethod,
      ),
      'exercise-2',
      'back',
    );
    expect(cell.parts.map(({ dwell }) => dwell)).toEqual([900]);
    expect(cell.flags).toEqual([]);
    expect(cell.windowPercent).toBe(cellOf(healthy, 'exercise-2', 'back').windowPercent);
  });

  it('only the last attempt counts, even where it did not get far', () => {
    const repeated = withEvents((events) => [
      ...events,
      { kind: 'exercise-began', atMicroseconds: 900_000_000, exercise: 'exercise-2', attempt: 2 },
    ]);
    const changed = assess(repeated, firstMethod);
    expectOnly(
      changed,
      'incomplete',
      ['hood', 'chest', 'back', 'thigh', 'ankle'].map((probe) => ['exercise-2', probe]),
    );
    expect(cellOf(changed, 'exercise-2', 'hood')).toMatchObject({
      windowPercent: null,
      attempt: 2,
      parts: [],
      dwellPosition: null,
    });
  });

  it('a dwell shorter than settling leaves no number and is called unsettled', () => {
    const short = withEvents((events) =>
      events.map((event) =>
        event.kind === 'dwell-ended' && event.dwell === place.dwell
          ? { ...event, atMicroseconds: place.from + 4_000_000 }
          : event,
      ),
    );
    const cell = cellOf(assess(short, firstMethod), 'exercise-2', 'back');
    expect(cell.windowPercent).toBeNull();
    expect(cell.flags).toEqual(['unsettled', 'incomplete']);
  });

  it('half of a split cell that is lost leaves the other half, flagged', () => {
    const split = syntheticTrial({ dwellsPerProbe: 2, dwellSeconds: 9, noise: 4e-5 });
    const whole = cellOf(assess(split.record, firstMethod), 'exercise-1', 'chest');
    expect(whole.parts).toHaveLength(2);
    expect(whole.flags).toEqual([]);
    const weights = whole.parts.map(
      ({ reading }) => (reading?.arrivalToMicroseconds ?? 0) - (reading?.arrivalFromMicroseconds ?? 0),
    );
    const expected =
      whole.parts.reduce((sum, part, index) => sum + (weights[index] as number) * (part.windowPercent ?? 0), 0) /
      weights.reduce((sum, weight) => sum + weight, 0);
    expect(whole.windowPercent).toBeCloseTo(expected, 12);

    const second = whole.parts[1]?.dwell;
    const events = split.record.events.filter(
      (event) => !(event.kind === 'port-acknowledged' && event.dwell === second),
    );
    const half = cellOf(assess({ ...split.record, events }, firstMethod), 'exercise-1', 'chest');
    expect(half.windowPercent).toBe(whole.parts[0]?.windowPercent);
    expect(half.flags).toEqual(['port-unconfirmed', 'incomplete']);
  });
});

describe('readings', () => {
  const place = ofProbe('exercise-2', 'back');
  const inside = place.from + 9_000_000;

  it('silence for more than 3 % of the window is flagged, and moves the value by less before it is', () => {
    expectOnly(
      assess(
        withReadings(inside, inside + 250_000, () => null),
        firstMethod,
      ),
      'gap',
      [],
    );
    expectOnly(
      assess(
        withReadings(inside, inside + 350_000, () => null),
        firstMethod,
      ),
      'gap',
      [['exercise-2', 'back']],
    );
    const less = assess(
      withReadings(inside, inside + 250_000, () => null),
      firstMethod,
    );
    const whole = cellOf(healthy, 'exercise-2', 'back').windowPercent ?? 0;
    const missing = (cellOf(less, 'exercise-2', 'back').windowPercent ?? 0) / whole - 1;
    expect(Math.abs(missing)).toBeGreaterThan(0);
    expect(Math.abs(missing)).toBeLessThan(0.01);
  });

  it('no readings at all leave no number', () => {
    const cell = cellOf(
      assess(
        withReadings(place.from, place.to + 2_000_000, () => null),
        firstMethod,
      ),
      'exercise-2',
      'back',
    );
    expect(cell).toMatchObject({ windowPercent: null, flags: ['gap', 'incomplete'] });
  });

  it('saturation is flagged', () => {
    const changed = assess(
      withReadings(inside, inside + 50_000, () => 50),
      firstMethod,
    );
    expectOnly(changed, 'saturated', [['exercise-2', 'back']]);
  });

  it('values that are no numbers take part in nothing and are flagged', () => {
    const changed = assess(
      withReadings(inside, inside + 50_000, () => Number.NaN),
      firstMethod,
    );
    expectOnly(changed, 'problem-readings', [['exercise-2', 'back']]);
    const [before, after] = [cellOf(healthy, 'exercise-2', 'back'), cellOf(changed, 'exercise-2', 'back')];
    expect(after.readings).toBe(before.readings - 1);
    expect((after.windowPercent ?? 0) / (before.windowPercent ?? 1)).toBeCloseTo(1, 2);
  });

  it('undecodable lines inside the window are flagged, outside of it and of other instruments not', () => {
    const problem = (instrument: string, atMicroseconds: number): TrialEvent => ({
      kind: 'problem',
      atMicroseconds,
      problem: { instrument, atMicroseconds, code: 'checksum-wrong', detail: '', byteCount: 20 },
    });
    const flagged = (...problems: TrialEvent[]) =>
      assess(
        withEvents((events) => [...events, ...problems]),
        firstMethod,
      );
    expectOnly(flagged(problem('photometer', inside)), 'problem-readings', [['exercise-2', 'back']]);
    expectOnly(
      flagged(problem('photometer', place.from + 2_000_000), problem('valve', inside)),
      'problem-readings',
      [],
    );
  });

  it('a frozen signal is a fault, not a result', () => {
    const frozen = assess(
      withReadings(place.from, place.to + 2_000_000, () => 0.05),
      firstMethod,
    );
    expect(cellOf(frozen, 'exercise-2', 'back')).toMatchObject({ windowPercent: null, flagged: true });
    expect(cellOf(frozen, 'exercise-2', 'back').parts[0]?.reading?.meanReading).toBeCloseTo(0.05, 12);
    expectOnly(frozen, 'flat-signal', [['exercise-2', 'back']]);
  });

  it('a probe that reads like filtered air, without its own background, may be a blocked line', () => {
    const zero = dwellWhere(({ dwell }) => dwell.purpose === 'zero' && dwell.exercise === 'exercise-2');
    const zeros = streamOf(record, record.rig.photometer, record.rig.photometerStream);
    const air = [...(zeros?.values ?? [])].filter((_value, index) => {
      const at = zeros?.atMicroseconds[index] ?? 0;
      return at > zero.to - 5_000_000 && at < zero.to;
    });
    let next = 0;
    const blocked = assess(
      withReadings(place.from, place.to + 2_000_000, () => air[next++ % air.length] ?? Number.NaN),
      firstMethod,
    );
    const cell = cellOf(blocked, 'exercise-2', 'back');
    expect(cell.windowPercent).toBeLessThan(-(cell.detectionLimitPercent ?? 0));
    expectOnly(blocked, 'below-zero', [['exercise-2', 'back']]);
  });

  it('where filtered air does not scatter, a probe that does not either is taken for frozen', () => {
    const coarse = withReadings(
      0,
      Infinity,
      (value) => Math.round(value * 20) / 20,
      syntheticTrial({ zeroDrift: 0 }).record,
    );
    const changed = assess(coarse, firstMethod);
    expect(changed.blank?.standardDeviation).toBe(0);
    expect(cellOf(changed, 'exercise-1', 'hood')).toMatchObject({ windowPercent: null, flagged: true });
    expect(cellOf(changed, 'exercise-1', 'hood').flags).toContain('flat-signal');
  });

  it('a frozen reference takes its neighbours with it', () => {
    const reference = dwellWhere(({ dwell }) => dwell.purpose === 'reference' && dwell.exercise === 'exercise-2');
    const frozen = assess(
      withReadings(reference.from, reference.to + 2_000_000, () => 5.5),
      firstMethod,
    );
    for (const exercise of ['exercise-1', 'exercise-2']) {
      expect(cellOf(frozen, exercise, 'chest')).toMatchObject({
        windowPercent: null,
        flags: ['flat-signal', 'incomplete'],
      });
    }
    expect(cellOf(frozen, 'exercise-3', 'chest').flags).toEqual([]);
  });
});

describe('time segments', () => {
  const segments = (beginsAtMicroseconds: number) => [
    ...record.segments,
    {
      segment: 1,
      bootId: 'b-000000000001' as const,
      reason: 'restart' as const,
      beginsAtMicroseconds,
      monotonicOriginMicroseconds: 0,
      wallAnchor: '2026-01-01T00:20:00.000Z',
    },
  ];

  it('a window that holds a break is flagged, and so is every interpolation across it', () => {
    const place = ofProbe('exercise-2', 'back');
    const changed = assess({ ...record, segments: segments(place.from + 9_000_000) }, firstMethod);
    expect(changed.cells.filter(({ flags }) => flags.includes('gap')).map(({ exercise }) => exercise)).toEqual(
      Array.from({ length: 5 }, () => 'exercise-2'),
    );
  });

  it('a dwell that was over when the host was lost keeps what was read of its last air', () => {
    // The zero after the backgrounds: every cell rests on it.
    const zero = dwellWhere(({ dwell }) => dwell.purpose === 'zero' && dwell.step === 6);
    const lost = withReadings(zero.to + 50_000, zero.to + 5_000_000, () => null);
    const changed = assess({ ...lost, segments: segments(zero.to + 5_000_000) }, firstMethod);
    const read = changed.zeros.find(({ dwell }) => dwell === zero.dwell);
    expect(read?.arrivalToMicroseconds).toBeLessThanOrEqual(zero.to + 50_000);
    expect(changed.cells.map(({ flags }) => flags)).toEqual(healthy.cells.map(({ flags }) => flags));
    expectOnly(changed, 'gap', []);
    // The same silence without a break in time is a fault of the photometer.
    expect(assess(lost, firstMethod).cells.every(({ flags }) => flags.includes('gap'))).toBe(true);
    // And so is one that began before the dwell was over.
    const earlier = withReadings(zero.to - 1_500_000, zero.to + 5_000_000, () => null);
    const silent = assess({ ...earlier, segments: segments(zero.to + 5_000_000) }, firstMethod);
    expect(silent.cells.every(({ flags }) => flags.includes('gap'))).toBe(true);
  });

  it('a break after everything touches nothing', () => {
    expectOnly(assess({ ...record, segments: segments(2_000_000_000) }, firstMethod), 'gap', []);
  });
});

it('every flag of the vocabulary is raised somewhere in these tests', () => {
  const raised = new Set<Flag>();
  const collect = (changed: TrialRecord, method: Method = firstMethod, leftOut: LeftOut[] = []): void => {
    for (const flag of assess(changed, method, leftOut).flags) raised.add(flag);
  };
  const place = ofProbe('exercise-2', 'back');
  collect(syntheticTrial({ noise: 4e-5, tailShare: 1e-3, leakages: [0, 0, 0, 0, 0] }).record, {
    ...firstMethod,
    carryOverPercent: 1e-9,
    challengeChangePercent: 1e-9,
    spanChangePercent: 1e-9,
  });
  collect(withEvents(without(...purposes('zero'))));
  collect(withEvents(without(...purposes('reference'), ...purposes('background'))));
  collect(
    withEvents((events) =>
      events.filter((event) => !(event.kind === 'port-acknowledged' && event.dwell === place.dwell)),
    ),
  );
  collect(
    withEvents((events) =>
      events.map((event) =>
        event.kind === 'port-acknowledged' && event.dwell === place.dwell ? { ...event, port: 9 } : event,
      ),
    ),
  );
  collect(withReadings(place.from, place.to, () => 60));
  collect(withReadings(place.from + 8e6, place.from + 9e6, () => null));
  collect(withReadings(place.from + 8e6, place.from + 8.1e6, () => Number.NaN));
  collect(withReadings(place.from, place.to + 2e6, () => 0.05));
  const last = record.events.findLast((event) => event.kind === 'dwell-began');
  collect(withEvents(without(last?.kind === 'dwell-began' ? last.dwell.dwell : -1)));
  const stretch = { fromMicroseconds: place.from + 8e6, toMicroseconds: place.from + 9e6 };
  collect(record, firstMethod, [{ ...stretch, time: 'arrival', probe: null, reason: 'a door was opened' }]);
  const old = { check: 'span', subject: null, name: 'span', number: 1, madeAt: '2026-01-01T00:00:00.000Z' };
  collect({ ...record, header: { ...record.header, checks: [{ ...old, standing: 'overdue' }] } });
  const bare = { instrument: 'PH-1', kind: 'photometer' as const, maker: 'a', model: 'b', serial: '4' };
  const missing = { ...bare, at: { place: 'chamber' as const }, standing: 'missing' as const, certificate: null };
  collect({ ...record, header: { ...record.header, certificates: [missing] } });
  const breath = { probes: ['hood'], seconds: 20, inspired: 0.4 };
  const slow = syntheticTrial({ breath }).record;
  collect(slow);
  collect({ ...slow, streams: slow.streams.slice(0, 1) });
  expect(flagNames.filter((flag) => !raised.has(flag))).toEqual([]);
});
