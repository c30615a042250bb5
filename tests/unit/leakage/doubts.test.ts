import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import type { Cell } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { flagNames } from '../../../src/leakage/flag.ts';
import type { Flag } from '../../../src/leakage/flag.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import type { Method } from '../../../src/model/method.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { nominal, syntheticTrial } from '../../support/synthetic-trial.ts';

const trial = syntheticTrial({ noise: 4e-5 });
const { record } = trial;
const healthy = assess(record, firstMethod);
const readingNoise = 4e-5 * nominal;

interface Place {
  readonly dwell: number;
  readonly from: number;
  readonly to: number;
}

/** Where a probe dwell lies, by exercise and probe; `from` is the acknowledgement, `to` the release, µs. */
function dwellWhere(is: (event: TrialEvent & { kind: 'dwell-began' }) => boolean): Place {
  const began = record.events.find((event) => event.kind === 'dwell-began' && is(event));
  if (began?.kind !== 'dwell-began') throw new Error('no such dwell');
  const { dwell } = began.dwell;
  const at = (kind: 'port-acknowledged' | 'dwell-ended'): number =>
    record.events.find((event) => event.kind === kind && event.dwell === dwell)?.atMicroseconds ?? Number.NaN;
  return { dwell, from: at('port-acknowledged'), to: at('dwell-ended') };
}

const ofProbe = (exercise: string, probe: string): Place =>
  dwellWhere(({ dwell }) => dwell.exercise === exercise && dwell.probe === probe && dwell.purpose === 'probe');

const cellOf = (source: { readonly cells: readonly Cell[] }, exercise: string, probe: string): Cell => {
  const cell = source.cells.find((candidate) => candidate.exercise === exercise && candidate.probe === probe);
  if (cell === undefined) throw new Error(`no cell ${exercise} ${probe}`);
  return cell;
};

const withEvents = (change: (events: readonly TrialEvent[]) => readonly TrialEvent[]): TrialRecord => ({
  ...record,
  events: change(record.events),
});

/** Replaces readings that arrive in [from, to); null removes them. */
function withReadings(from: number, to: number, change: (value: number) => number | null, source = record): TrialRecord {
  const [stream] = source.streams;
  if (stream === undefined) throw new Error('no stream');
  const at: number[] = [];
  const values: number[] = [];
  stream.values.forEach((value, index) => {
    const when = stream.atMicroseconds[index] as number;
    const changed = from <= when && when < to ? change(value) : value;
    if (changed === null) return;
    at.push(when);
    values.push(changed);
  });
  return { ...source, streams: [{ ...stream, atMicroseconds: Float64Array.from(at), values: Float64Array.from(values) }] };
}

/** Exactly these cells carry the flag. */
function expectOnly(source: { readonly cells: readonly Cell[] }, flag: Flag, places: readonly [string, string][]): void {
  const flagged = source.cells.filter((cell) => cell.flags.includes(flag)).map((cell) => [cell.exercise, cell.probe]);
  expect(flagged).toEqual(places);
}

const without = (...dwells: number[]) => (events: readonly TrialEvent[]) =>
  events.filter((event) => !('dwell' in event && dwells.includes(typeof event.dwell === 'number' ? event.dwell : event.dwell.dwell)));

const purposes = (purpose: string): number[] =>
  record.events.flatMap((event) => (event.kind === 'dwell-began' && event.dwell.purpose === purpose ? [event.dwell.dwell] : []));

describe('a healthy trial', () => {
  it('has one cell for each exercise and probe, none flagged', () => {
    expect(healthy.cells).toHaveLength(15);
    expect(healthy.cells.filter(({ flagged }) => flagged)).toEqual([]);
    expect(healthy.flags.filter((flag) => flag !== 'below-detection-limit')).toEqual([]);
    expect(healthy.overall).toMatchObject({ cells: 15, cellsFlagged: 0, cellsMissing: 0, flagged: false });
  });

  it('knows its scatter from filtered air', () => {
    expect(healthy.blank?.standardDeviation).toBeGreaterThan(0.95 * readingNoise);
    expect(healthy.blank?.standardDeviation).toBeLessThan(1.05 * readingNoise);
  });

  it('leaves what needs an uncertainty budget null', () => {
    for (const cell of healthy.cells) {
      expect(cell).toMatchObject({
        windowStandardPercent: null,
        windowLowPercent: null,
        windowHighPercent: null,
        windowExpandedPercent: null,
        degreesOfFreedom: null,
        exercisePercent: null,
        exerciseLowPercent: null,
        exerciseHighPercent: null,
      });
    }
  });

  it('can be recomputed by hand from what each cell carries', () => {
    for (const cell of healthy.cells) {
      const [part] = cell.parts;
      if (part?.reading == null || part.zero === null || part.span === null || part.background === null) throw new Error('incomplete');
      const { reading, zero, span, background } = part;
      const dwell = [...healthy.zeros, ...healthy.references];
      const by = (number: number | null) => dwell.find((candidate) => candidate.dwell === number)?.correctedReading ?? Number.NaN;
      for (const value of [zero, span, background.zero]) {
        const again = (1 - value.weightAfter) * by(value.beforeDwell) + value.weightAfter * by(value.afterDwell);
        expect(again).toBeCloseTo(value.value, 12);
      }
      expect(reading.meanReading + reading.lagTerm).toBe(reading.correctedReading);
      const inside = ((reading.correctedReading - zero.value - background.netReading) * part.dilution) / part.penetration;
      const challenge = (part.spatialFactor * (span.value - zero.value) * part.referenceDilution) / part.referencePenetration;
      expect((100 * inside) / challenge).toBeCloseTo(cell.windowPercent ?? Number.NaN, 10);
    }
  });

  it('repeats bit for bit, survives JSON, and leaves the record as it was', () => {
    const before = record.streams[0]?.values.slice();
    expect(JSON.stringify(assess(record, firstMethod))).toBe(JSON.stringify(healthy));
    expect(JSON.parse(JSON.stringify(healthy))).toEqual(healthy);
    expect(record.streams[0]?.values).toEqual(before);
  });

  it('means are those of the cells, and factors their harmonic form', () => {
    const mean = (cells: readonly Cell[]) => cells.reduce((sum, cell) => sum + (cell.windowPercent ?? 0), 0) / cells.length;
    for (const { probe, windowPercent, protectionFactor } of healthy.probes) {
      expect(windowPercent).toBeCloseTo(mean(healthy.cells.filter((cell) => cell.probe === probe)), 12);
      expect(protectionFactor).toBeCloseTo(100 / (windowPercent ?? 0), 9);
    }
    expect(healthy.exercises.map(({ exercise }) => exercise)).toEqual(['exercise-1', 'exercise-2', 'exercise-3']);
    expect(healthy.overall.windowPercent).toBeCloseTo(mean(healthy.cells), 12);
  });

  it('assesses 34 000 readings in less than 50 ms', () => {
    const long = syntheticTrial({ exercises: 10 }).record;
    expect(long.streams[0]?.values.length).toBeGreaterThan(33_000);
    const times = Array.from({ length: 7 }, () => {
      const begun = performance.now();
      assess(long, firstMethod);
      return performance.now() - begun;
    });
    expect(Math.min(...times)).toBeLessThan(50);
  });
});

describe('detection limit', () => {
  it('is three times the scatter of cells that hold no leakage', () => {
    const scaled: number[] = [];
    for (let seed = 1; seed <= 12; seed += 1) {
      const empty = syntheticTrial({ seed, noise: 4e-5, leakages: [0, 0, 0, 0, 0] });
      for (const cell of assess(empty.record, firstMethod).cells) {
        expect(cell.flags.every((flag) => flag === 'below-detection-limit')).toBe(true);
        scaled.push((cell.windowPercent ?? Number.NaN) / ((cell.detectionLimitPercent ?? Number.NaN) / 3));
      }
    }
    const rms = Math.sqrt(scaled.reduce((sum, z) => sum + z * z, 0) / scaled.length);
    expect(scaled).toHaveLength(180);
    expect(rms).toBeGreaterThan(0.8);
    expect(rms).toBeLessThan(1.2);
  });

  it('grows with the dilution, keeps the signed number and does not make a cell doubtful', () => {
    const quiet = syntheticTrial({ noise: 4e-5, leakages: [0, 1e-2, 0, 0, 0] });
    const assessment = assess(quiet.record, firstMethod);
    const limit = (probe: string) => cellOf(assessment, 'exercise-1', probe).detectionLimitPercent ?? 0;
    expect(limit('ankle') / limit('chest')).toBeGreaterThan(18);
    expect(limit('ankle') / limit('chest')).toBeLessThan(23);
    expect(cellOf(assessment, 'exercise-1', 'hood').flags).toEqual(['below-detection-limit']);
    expect(cellOf(assessment, 'exercise-1', 'chest').flags).toEqual([]);
    expect(assessment.cells.some(({ flagged }) => flagged)).toBe(false);
    expect(assessment.cells.some(({ windowPercent }) => (windowPercent ?? 0) < 0)).toBe(true);
    expect(assessment.overall.flags).toEqual([]);
  });

  it('is never finer than the resolution allows, where filtered air hardly scatters', () => {
    const coarse = syntheticTrial({ noise: 0, zeroDrift: 0, spanDrift: 0 }).record;
    const rounded = withReadings(0, Infinity, (value) => Math.round(value * 1000) / 1000, coarse);
    const [stream] = rounded.streams;
    if (stream === undefined) throw new Error('no stream');
    const assessment = assess(
      { ...rounded, streams: [{ ...stream, descriptor: { ...stream.descriptor, resolution: 0.001 } }] },
      firstMethod,
    );
    expect(assessment.blank?.standardDeviation).toBeLessThan(0.5 * (0.001 / Math.sqrt(12)));
    expect(cellOf(assessment, 'exercise-1', 'chest').detectionLimitPercent).toBeGreaterThan(0.0005);
    expect(cellOf(assessment, 'exercise-1', 'chest').flags).toEqual([]);
  });
});

describe('ports', () => {
  const place = ofProbe('exercise-2', 'back');

  it('an unconfirmed port leaves no number', () => {
    const changed = assess(
      withEvents((events) =>
        events.map((event): TrialEvent =>
          event.kind === 'port-acknowledged' && event.dwell === place.dwell
            ? { kind: 'port-unconfirmed', atMicroseconds: event.atMicroseconds, dwell: place.dwell, port: 3, detail: 'no answer' }
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
        events.map((event) => (event.kind === 'port-acknowledged' && event.dwell === place.dwell ? { ...event, port: 4 } : event)),
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
          event.kind === 'dwell-began' && event.dwell.dwell === place.dwell ? { ...event, dwell: { ...event.dwell, port: 31 } } : event,
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
    const original = record.events.filter((event) => 'dwell' in event && (event.dwell === place.dwell || (typeof event.dwell === 'object' && event.dwell.dwell === place.dwell)));
    const again = original.map((event): TrialEvent =>
      event.kind === 'dwell-began'
        ? { ...event, dwell: { ...event.dwell, dwell: 900 } }
        : 'dwell' in event ? ({ ...event, dwell: 900 } as TrialEvent) : event,
    );
    const cell = cellOf(assess(withEvents((events) => [...cutShort(events), ...again]), firstMethod), 'exercise-2', 'back');
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
    expectOnly(changed, 'incomplete', ['hood', 'chest', 'back', 'thigh', 'ankle'].map((probe) => ['exercise-2', probe]));
    expect(cellOf(changed, 'exercise-2', 'hood')).toMatchObject({ windowPercent: null, attempt: 2, parts: [], dwellPosition: null });
  });

  it('a dwell shorter than settling leaves no number and is called unsettled', () => {
    const short = withEvents((events) =>
      events.map((event) =>
        event.kind === 'dwell-ended' && event.dwell === place.dwell ? { ...event, atMicroseconds: place.from + 4_000_000 } : event,
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
    const weights = whole.parts.map(({ reading }) => (reading?.arrivalToMicroseconds ?? 0) - (reading?.arrivalFromMicroseconds ?? 0));
    const expected =
      whole.parts.reduce((sum, part, index) => sum + (weights[index] as number) * (part.windowPercent ?? 0), 0) /
      weights.reduce((sum, weight) => sum + weight, 0);
    expect(whole.windowPercent).toBeCloseTo(expected, 12);

    const second = whole.parts[1]?.dwell;
    const events = split.record.events.filter((event) => !(event.kind === 'port-acknowledged' && event.dwell === second));
    const half = cellOf(assess({ ...split.record, events }, firstMethod), 'exercise-1', 'chest');
    expect(half.windowPercent).toBe(whole.parts[0]?.windowPercent);
    expect(half.flags).toEqual(['port-unconfirmed', 'incomplete']);
  });
});

describe('readings', () => {
  const place = ofProbe('exercise-2', 'back');
  const inside = place.from + 9_000_000;

  it('a gap of four intervals is flagged, the loss of two readings is not', () => {
    expectOnly(assess(withReadings(inside, inside + 100_000, () => null), firstMethod), 'gap', []);
    expectOnly(assess(withReadings(inside, inside + 200_000, () => null), firstMethod), 'gap', [['exercise-2', 'back']]);
  });

  it('no readings at all leave no number', () => {
    const cell = cellOf(assess(withReadings(place.from, place.to + 2_000_000, () => null), firstMethod), 'exercise-2', 'back');
    expect(cell).toMatchObject({ windowPercent: null, flags: ['gap', 'incomplete'] });
  });

  it('saturation is flagged', () => {
    const changed = assess(withReadings(inside, inside + 50_000, () => 50), firstMethod);
    expectOnly(changed, 'saturated', [['exercise-2', 'back']]);
  });

  it('values that are no numbers take part in nothing and are flagged', () => {
    const changed = assess(withReadings(inside, inside + 50_000, () => Number.NaN), firstMethod);
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
    const flagged = (...problems: TrialEvent[]) => assess(withEvents((events) => [...events, ...problems]), firstMethod);
    expectOnly(flagged(problem('photometer', inside)), 'problem-readings', [['exercise-2', 'back']]);
    expectOnly(flagged(problem('photometer', place.from + 2_000_000), problem('valve', inside)), 'problem-readings', []);
  });

  it('a frozen signal is a fault, not a result', () => {
    const frozen = assess(withReadings(place.from, place.to + 2_000_000, () => 0.05), firstMethod);
    expect(cellOf(frozen, 'exercise-2', 'back')).toMatchObject({ windowPercent: null, flagged: true });
    expect(cellOf(frozen, 'exercise-2', 'back').parts[0]?.reading?.meanReading).toBeCloseTo(0.05, 12);
    expectOnly(frozen, 'flat-signal', [['exercise-2', 'back']]);
  });

  it('where filtered air does not scatter, a probe that does not either is taken for frozen', () => {
    const coarse = withReadings(0, Infinity, (value) => Math.round(value * 20) / 20, syntheticTrial({ zeroDrift: 0 }).record);
    const changed = assess(coarse, firstMethod);
    expect(changed.blank?.standardDeviation).toBe(0);
    expect(cellOf(changed, 'exercise-1', 'hood')).toMatchObject({ windowPercent: null, flagged: true });
    expect(cellOf(changed, 'exercise-1', 'hood').flags).toContain('flat-signal');
  });

  it('a frozen reference takes its neighbours with it', () => {
    const reference = dwellWhere(({ dwell }) => dwell.purpose === 'reference' && dwell.exercise === 'exercise-2');
    const frozen = assess(withReadings(reference.from, reference.to + 2_000_000, () => 5.5), firstMethod);
    for (const exercise of ['exercise-1', 'exercise-2']) {
      expect(cellOf(frozen, exercise, 'chest')).toMatchObject({ windowPercent: null, flags: ['flat-signal', 'incomplete'] });
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

  it('a break after everything touches nothing', () => {
    expectOnly(assess({ ...record, segments: segments(2_000_000_000) }, firstMethod), 'gap', []);
  });
});

describe('missing inputs leave null and a flag, never an error', () => {
  const noNumber = (source: ReturnType<typeof assess>, flag: Flag): void => {
    expect(source.cells).toHaveLength(15);
    for (const cell of source.cells) {
      expect(cell.windowPercent).toBeNull();
      expect(cell.flags).toContain(flag);
    }
    expect(source.overall).toMatchObject({ windowPercent: null, protectionFactor: null, cells: 0, cellsMissing: 15, flagged: true });
  };

  it('no zero', () => {
    const changed = assess(withEvents(without(...purposes('zero'))), firstMethod);
    noNumber(changed, 'no-zero');
    expect(changed.blank).toBeNull();
  });

  it('no reference: the entry does not stand in for one', () => {
    const references = record.events.flatMap((event) =>
      event.kind === 'dwell-began' && event.dwell.purpose === 'reference' && event.dwell.stage !== 'entry' ? [event.dwell.dwell] : [],
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
    const changed = assess(withReadings(0, Infinity, (value) => Math.min(value, 0.05), dead.record), firstMethod);
    for (const cell of changed.cells) expect(cell.windowPercent).toBeNull();
    expect(changed.flags).toContain('no-reference');
  });

  it('a background without a confirmed port is no background', () => {
    const place = dwellWhere(({ dwell }) => dwell.purpose === 'background' && dwell.probe === 'thigh');
    const changed = assess(
      withEvents((events) => events.filter((event) => !(event.kind === 'port-acknowledged' && event.dwell === place.dwell))),
      firstMethod,
    );
    expectOnly(changed, 'no-background', [1, 2, 3].map((exercise) => [`exercise-${exercise}`, 'thigh']));
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
    const fallen = assess(withReadings(reference.from, reference.to + 900_000, (value) => 0.85 * value), firstMethod);
    expect(cellOf(fallen, 'exercise-1', 'chest').flags).toEqual([]);
    expect(cellOf(fallen, 'exercise-2', 'chest').flags).toEqual(['challenge-unstable']);
    expect(cellOf(fallen, 'exercise-3', 'chest').flags).toEqual(['challenge-unstable']);
  });

  it('drift-exceeded: zeros around a window differ', () => {
    const zero = dwellWhere(({ dwell }) => dwell.purpose === 'zero' && dwell.exercise === 'exercise-3');
    const moved = assess(withReadings(zero.from - 500_000, zero.to + 500_000, (value) => value + 0.004 * nominal), firstMethod);
    expect(cellOf(moved, 'exercise-1', 'chest').flags).toEqual([]);
    expect(cellOf(moved, 'exercise-2', 'chest').flags).toContain('drift-exceeded');
    expect(cellOf(moved, 'exercise-3', 'chest').flags).toContain('drift-exceeded');
  });

  it('drift-exceeded: the span moved from the first reference to the last, for every cell', () => {
    const drifting = syntheticTrial({ spanDrift: -0.6, challengeDrift: -0.6 });
    for (const cell of assess(drifting.record, firstMethod).cells) expect(cell.flags).toContain('drift-exceeded');
    expect(assess(drifting.record, method({ spanChangePercent: 90, challengeChangePercent: 50 })).flags).not.toContain('drift-exceeded');
  });

  it('unsettled: the share allowed decides', () => {
    expect(assess(record, method({ carryOverPercent: 1e-6 })).cells.every(({ flags }) => flags.includes('unsettled'))).toBe(true);
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

it('every flag of the vocabulary is raised somewhere in these tests', () => {
  const raised = new Set<Flag>();
  const collect = (changed: TrialRecord, method: Method = firstMethod): void => {
    for (const flag of assess(changed, method).flags) raised.add(flag);
  };
  const place = ofProbe('exercise-2', 'back');
  collect(syntheticTrial({ noise: 4e-5, tailShare: 1e-3, leakages: [0, 0, 0, 0, 0] }).record, { ...firstMethod, carryOverPercent: 1e-9, challengeChangePercent: 1e-9, spanChangePercent: 1e-9 });
  collect(withEvents(without(...purposes('zero'))));
  collect(withEvents(without(...purposes('reference'), ...purposes('background'))));
  collect(withEvents((events) => events.filter((event) => !(event.kind === 'port-acknowledged' && event.dwell === place.dwell))));
  collect(withEvents((events) => events.map((event) => (event.kind === 'port-acknowledged' && event.dwell === place.dwell ? { ...event, port: 9 } : event))));
  collect(withReadings(place.from, place.to, () => 60));
  collect(withReadings(place.from + 8e6, place.from + 9e6, () => null));
  collect(withReadings(place.from + 8e6, place.from + 8.1e6, () => Number.NaN));
  collect(withReadings(place.from, place.to + 2e6, () => 0.05));
  const last = record.events.findLast((event) => event.kind === 'dwell-began');
  collect(withEvents(without(last?.kind === 'dwell-began' ? last.dwell.dwell : -1)));
  expect(flagNames.filter((flag) => !raised.has(flag))).toEqual([]);
});
