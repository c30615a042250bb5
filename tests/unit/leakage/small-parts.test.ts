import { describe, expect, it } from 'vitest';
import { castsDoubt, flagNames, flagSchema, orderFlags } from '../../../src/leakage/flag.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { percentPerReading } from '../../../src/leakage/inward-leakage.ts';
import { overallProtectionFactor, protectionFactor } from '../../../src/leakage/protection-factor.ts';
import { recordedDwells } from '../../../src/leakage/recorded-dwell.ts';
import { methodSchema } from '../../../src/model/method.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';

describe('flags', () => {
  it('all cast doubt but the one that informs', () => {
    expect(flagNames.filter((flag) => !castsDoubt([flag]))).toEqual(['below-detection-limit']);
    expect(castsDoubt([])).toBe(false);
    expect(castsDoubt(['below-detection-limit', 'gap'])).toBe(true);
  });

  it('come in one order, each once, and are a closed vocabulary', () => {
    expect(orderFlags(['gap', 'unsettled', 'gap'])).toEqual(['unsettled', 'gap']);
    expect(flagSchema.safeParse('looks-fine').success).toBe(false);
  });
});

it('the first method satisfies the schema and has every correction on', () => {
  const method = methodSchema.parse(firstMethod);
  const { lagCorrection, subtractBackground, applyDilution, applyPenetration, applySpatialFactor } = method;
  expect([lagCorrection, subtractBackground, applyDilution, applyPenetration, applySpatialFactor]).not.toContain(false);
});

describe('protection factors', () => {
  it('exist only above zero leakage', () => {
    expect(protectionFactor(0)).toBeNull();
    expect(protectionFactor(-0.1)).toBeNull();
    expect(protectionFactor(Number.NaN)).toBeNull();
    expect(() => overallProtectionFactor([])).toThrow(RangeError);
    expect(() => overallProtectionFactor([100, 0])).toThrow(RangeError);
  });

  it('over all are the factor of the mean leakage', () => {
    const leakages = [0.2, 0.1, 1.7];
    const factors = leakages.map((percent) => protectionFactor(percent) ?? 0);
    expect(overallProtectionFactor(factors)).toBeCloseTo(protectionFactor(2 / 3) ?? 0, 9);
  });
});

it('no percentage comes from a span that does not rise above the zero', () => {
  const factors = { dilution: 1, penetration: 1, referenceDilution: 1, referencePenetration: 1, spatialFactor: 1 };
  expect(percentPerReading(0, factors)).toBeNull();
  expect(percentPerReading(-1, factors)).toBeNull();
  expect(percentPerReading(Number.NaN, factors)).toBeNull();
  expect(percentPerReading(4, factors)).toBe(25);
});

describe('recordedDwells', () => {
  const began = (dwell: number, port: number, atMicroseconds: number): TrialEvent => ({
    kind: 'dwell-began',
    atMicroseconds,
    plannedAtMicroseconds: atMicroseconds,
    machine: null,
    dwell: {
      dwell,
      step: dwell,
      stage: 'exercise',
      purpose: 'probe',
      port,
      probe: 'hood',
      exercise: 'walk',
      dwellPosition: 1,
      attempt: 1,
    },
  });
  const word = (
    kind: 'port-requested' | 'port-acknowledged',
    dwell: number,
    port: number,
    atMicroseconds: number,
  ): TrialEvent => ({
    kind,
    atMicroseconds,
    dwell,
    port,
  });
  const unconfirmed = (dwell: number, port: number, atMicroseconds: number): TrialEvent => ({
    kind: 'port-unconfirmed',
    atMicroseconds,
    dwell,
    port,
    detail: 'no answer',
  });
  const ended = (dwell: number, atMicroseconds: number, complete = true): TrialEvent => ({
    kind: 'dwell-ended',
    atMicroseconds,
    dwell,
    complete,
    reason: 'time',
  });

  it('follows a dwell from request to release', () => {
    const [dwell] = recordedDwells([
      began(0, 3, 10),
      word('port-requested', 0, 3, 11),
      word('port-acknowledged', 0, 3, 15),
      ended(0, 90),
    ]);
    expect(dwell).toMatchObject({
      requestedAtMicroseconds: 11,
      acknowledgedAtMicroseconds: 15,
      releasedAtMicroseconds: 90,
      complete: true,
      port: 'confirmed',
    });
  });

  it('counts from the first request, because from then on the valve may have moved', () => {
    const again = [word('port-requested', 0, 3, 11), word('port-requested', 0, 3, 2_000_011)];
    expect(recordedDwells([began(0, 3, 10), ...again])[0]?.requestedAtMicroseconds).toBe(11);
    expect(recordedDwells([began(0, 3, 10)])[0]?.requestedAtMicroseconds).toBe(10);
  });

  it('believes the last word of the valve', () => {
    const of = (...words: TrialEvent[]) => recordedDwells([began(0, 3, 10), ...words])[0]?.port;
    expect(of()).toBe('unconfirmed');
    expect(of(word('port-acknowledged', 0, 4, 15))).toBe('wrong');
    expect(of(word('port-acknowledged', 0, 4, 15), word('port-acknowledged', 0, 3, 17))).toBe('confirmed');
    expect(of(unconfirmed(0, 3, 15), word('port-acknowledged', 0, 3, 17))).toBe('confirmed');
    expect(of(word('port-acknowledged', 0, 3, 15), unconfirmed(0, 3, 17))).toBe('unconfirmed');
  });

  it('ends a dwell that never ended where the next one begins, and calls it incomplete', () => {
    const dwells = recordedDwells([began(0, 3, 10), began(1, 4, 50)]);
    expect(dwells[0]).toMatchObject({ endedAtMicroseconds: null, releasedAtMicroseconds: 50, complete: false });
    expect(dwells[1]).toMatchObject({ endedAtMicroseconds: null, releasedAtMicroseconds: null, complete: false });
  });

  it('ignores words about dwells that it does not know', () => {
    expect(
      recordedDwells([
        word('port-acknowledged', 9, 3, 1),
        unconfirmed(9, 3, 2),
        word('port-requested', 9, 3, 2),
        ended(9, 3),
      ]),
    ).toEqual([]);
  });
});
