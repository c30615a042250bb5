import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { castsDoubt } from '../../../src/leakage/flag.ts';
import { beginProvisional, challengeChangePercent, provisionalOfRecord } from '../../../src/leakage/provisional.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { probeNames, syntheticTrial } from '../../support/synthetic-trial.ts';

const { record } = syntheticTrial({ exercises: 2 });

/** The record up to a moment, readings and events. */
function until(atMicroseconds: number): TrialRecord {
  return {
    ...record,
    events: record.events.filter((event) => event.atMicroseconds <= atMicroseconds),
    streams: record.streams.map((stream) => {
      const end = stream.atMicroseconds.filter((at) => at <= atMicroseconds).length;
      return {
        ...stream,
        atMicroseconds: stream.atMicroseconds.subarray(0, end),
        values: stream.values.subarray(0, end),
      };
    }),
  };
}

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
    expect(state.blanks.length).toBeLessThanOrEqual(4);
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
