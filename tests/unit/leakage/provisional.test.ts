import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { castsDoubt } from '../../../src/leakage/flag.ts';
import { beginProvisional, challengeChangePercent, provisionalOfRecord } from '../../../src/leakage/provisional.ts';
import type { Assessment } from '../../../src/leakage/assessment.ts';
import { recordedDwells } from '../../../src/leakage/recorded-dwell.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { probeNames, syntheticTrial } from '../../support/synthetic-trial.ts';
import type { SyntheticOptions } from '../../support/synthetic-trial.ts';

const { record } = syntheticTrial({ exercises: 2 });

/** A record up to a moment, readings and events. */
function until(atMicroseconds: number, whole: TrialRecord = record): TrialRecord {
  return {
    ...whole,
    events: whole.events.filter((event) => event.atMicroseconds <= atMicroseconds),
    streams: whole.streams.map((stream) => {
      const end = stream.atMicroseconds.filter((at) => at <= atMicroseconds).length;
      return {
        ...stream,
        atMicroseconds: stream.atMicroseconds.subarray(0, end),
        values: stream.values.subarray(0, end),
      };
    }),
  };
}

/** What the lanes said at the end of each probe dwell; assessments of the record up to then, and of all of it. */
function atEachEnd(options: SyntheticOptions) {
  const { record: whole } = syntheticTrial(options);
  const assessed = assess(whole, firstMethod);
  return recordedDwells(whole.events).flatMap(({ dwell, endedAtMicroseconds }) => {
    if (dwell.purpose !== 'probe' || endedAtMicroseconds === null) return [];
    // The last of its air is read a second and a half later; the next dwell has begun by then.
    const early = {
      ...until(endedAtMicroseconds + 1.5e6, whole),
      events: whole.events.filter(({ atMicroseconds }) => atMicroseconds <= endedAtMicroseconds),
    };
    const live = provisionalOfRecord(early, firstMethod).leakages[dwell.probe];
    const cellOf = ({ cells }: Assessment) =>
      cells.find(({ exercise, probe }) => exercise === dwell.exercise && probe === dwell.probe);
    const byThen = cellOf(assess(early, firstMethod));
    const inTheEnd = cellOf(assessed);
    if (live === undefined || byThen === undefined || inTheEnd === undefined) throw new Error('no value');
    return [{ live, byThen, inTheEnd }];
  });
}

function half(value: { readonly windowLowPercent: number | null; readonly windowHighPercent: number | null }): number {
  return ((value.windowHighPercent ?? Number.NaN) - (value.windowLowPercent ?? Number.NaN)) / 2;
}

describe('interval of a provisional leakage', () => {
  it('is there where an assessment of the record so far has one, around the same value, and no narrower', () => {
    const ends = atEachEnd({ exercises: 4 });
    for (const { byThen, live } of ends) {
      expect(live.windowPercent).toBeCloseTo(byThen.windowPercent ?? Number.NaN, 9);
      expect(live.detectionLimitPercent).toBeCloseTo(byThen.detectionLimitPercent ?? Number.NaN, 9);
      expect(live.windowLowPercent === null).toBe(byThen.windowLowPercent === null);
      if (live.windowLowPercent !== null) expect(half(live)).toBeGreaterThanOrEqual(half(byThen));
    }
    // Three zeros and three references are read before the third exercise of this series.
    expect(ends.map(({ live }) => live.windowLowPercent !== null)).toEqual([
      ...Array<boolean>(10).fill(false),
      ...Array<boolean>(10).fill(true),
    ]);
  });

  it('is the assessed one within a twentieth where neither zero nor challenge moves', () => {
    const still = { zeroDrift: 0, spanDrift: 0, challengeDrift: 0, challengeWave: 0, noise: 1e-6 };
    const stated = atEachEnd({ exercises: 4, ...still }).filter(({ live }) => live.windowLowPercent !== null);
    expect(stated.length).toBe(10);
    for (const { inTheEnd, live } of stated) {
      expect(half(live) / half(inTheEnd)).toBeGreaterThan(0.95);
      expect(half(live) / half(inTheEnd)).toBeLessThan(1.05);
    }
  });

  it('holds the value that is assessed in the end, however zero and challenge move until the next of them', () => {
    let held = 0;
    let all = 0;
    for (const seed of [2]) {
      const drifts = { zeroDrift: 0.02, challengeDrift: -0.07, challengeWave: 0.003, noise: 1e-5 };
      for (const { inTheEnd, live } of atEachEnd({ exercises: 5, seed, ...drifts })) {
        if (live.windowLowPercent === null || live.windowHighPercent === null) continue;
        const value = inTheEnd.windowPercent ?? Number.NaN;
        all += 1;
        if (live.windowLowPercent <= value && value <= live.windowHighPercent) held += 1;
      }
    }
    expect(all).toBe(15);
    expect(held).toBe(all);
  });
});

describe('provisional leakage', () => {
  it('is the assessed value of the last exercise but for what drifts between neighbours', () => {
    const state = provisionalOfRecord(record, firstMethod);
    const assessment = assess(record, firstMethod);
    const last = record.series.exercises.at(-1)?.exercise;
    for (const probe of probeNames) {
      const cell = assessment.cells.find((candidate) => candidate.exercise === last && candidate.probe === probe);
      const leakage = state.leakages[probe];
      expect(leakage?.exercise).toBe(last);
      expect(castsDoubt(leakage?.flags ?? ['gap'])).toBe(false);
      // Zero drifts by 2 % of the challenge in an hour, the ankle is diluted 20 times, 130 s at most lie between.
      const dilution = record.rig.ports.find((port) => port.probe === probe)?.dilution.value ?? 1;
      const drift = dilution * 100 * 0.02 * (130 / 3600);
      const expected = cell?.windowPercent ?? Number.NaN;
      expect(Math.abs((leakage?.windowPercent ?? Number.NaN) - expected), probe).toBeLessThan(drift + 0.02 * expected);
      expect(leakage?.usableSeconds).toBeGreaterThan(10);
      const limit = cell?.detectionLimitPercent ?? 0;
      expect((leakage?.detectionLimitPercent ?? 0) / limit).toBeGreaterThan(0.3);
      expect((leakage?.detectionLimitPercent ?? 0) / limit).toBeLessThan(3);
    }
  });

  it('gives no number before there is a zero, a reference and a background, and says which is missing', () => {
    const { zero, reference, leakages } = beginProvisional();
    expect([zero, reference, leakages]).toEqual([null, null, {}]);
    const events = record.events.filter((event) => {
      if (!('dwell' in event)) return true;
      const number = typeof event.dwell === 'number' ? event.dwell : event.dwell.dwell;
      const began = record.events.find((other) => other.kind === 'dwell-began' && other.dwell.dwell === number);
      return began?.kind !== 'dwell-began' || began.dwell.purpose === 'probe';
    });
    const state = provisionalOfRecord({ ...record, events }, firstMethod);
    expect(state.leakages['hood']).toMatchObject({ windowPercent: null, detectionLimitPercent: null });
    for (const flag of ['no-zero', 'no-reference', 'no-background']) {
      expect(state.leakages['hood']?.flags).toContain(flag);
    }
  });

  it('does not take the challenge that builds up for a reference', () => {
    const entry = record.events.find((event) => event.kind === 'dwell-began' && event.dwell.stage === 'entry');
    const rest = record.events.find((event) => event.kind === 'dwell-began' && event.dwell.stage === 'rest');
    expect(provisionalOfRecord(until((rest?.atMicroseconds ?? 0) + 1), firstMethod).reference).toBeNull();
    expect(provisionalOfRecord(until((entry?.atMicroseconds ?? 0) + 1), firstMethod).zero).not.toBeNull();
  });

  it('follows the challenge, net of zero, against the first reference', () => {
    const { record: falling } = syntheticTrial({ exercises: 3, challengeDrift: -2, challengeWave: 0, spanDrift: 0 });
    const state = provisionalOfRecord(falling, firstMethod);
    const between = ((state.reference?.toMicroseconds ?? 0) - (state.firstReference?.toMicroseconds ?? 0)) / 3.6e9;
    const first = 1 - (2 * (state.firstReference?.toMicroseconds ?? 0)) / 3.6e9;
    expect(challengeChangePercent(state)).toBeCloseTo((-200 * between) / first, 0);
    expect(challengeChangePercent(beginProvisional())).toBeNull();
  });

  it('knows nothing of a trial without readings', () => {
    expect(provisionalOfRecord({ ...record, streams: [] }, firstMethod)).toEqual(beginProvisional());
  });
});
