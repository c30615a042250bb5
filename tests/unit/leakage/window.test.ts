import { describe, expect, it } from 'vitest';
import type { Port, Rig } from '../../../src/model/rig.ts';
import { commonDelayMicroseconds, fullDelayMicroseconds, probeTime } from '../../../src/leakage/alignment.ts';
import { prepareReadings, longestSilence, meanWithin, within } from '../../../src/leakage/readings.ts';
import { usableWindow } from '../../../src/leakage/window.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

const base = syntheticTrial({ exercises: 1 }).record;
const rig = (changes: Partial<Rig>): Rig => ({ ...base.rig, ...changes });
const ankle = base.rig.ports[4] as Port;
const choice = { settlingSeconds: 5, guardDispersions: 3 };

describe('alignment', () => {
  it('adds up port line, common line and instrument', () => {
    expect(commonDelayMicroseconds(base.rig)).toBe(930_000);
    expect(fullDelayMicroseconds(base.rig, ankle)).toBe(3_130_000);
  });

  it('leads from arrival to probe time', () => {
    expect(probeTime(10_000_000, base.rig, ankle)).toBe(6_870_000);
    expect(probeTime(12_345, base.rig, ankle)).toBe(12_345 - 3_130_000);
  });
});

describe('usableWindow', () => {
  it('with a bypass lies between valve and reading only: the port line does not enter', () => {
    expect(usableWindow(rig({ bypass: true }), ankle, 100_000_000, 118_000_000, choice)).toEqual({
      arrivalMicroseconds: 100_930_000,
      fromMicroseconds: 105_930_000,
      // 0.3 s for three dispersions, 0.04 s for the valve
      toMicroseconds: 118_930_000 - 340_000,
    });
  });

  it('without bypass begins later by the port line and ends at the same moment', () => {
    const still = usableWindow(rig({ bypass: false }), ankle, 100_000_000, 118_000_000, choice);
    expect(still?.fromMicroseconds).toBe(105_930_000 + 2_200_000);
    expect(still?.toMicroseconds).toBe(118_930_000 - 340_000);
  });

  it('guards with dispersion and valve, or with the valve alone', () => {
    const ends = (guardDispersions: number, dispersion: number) =>
      usableWindow(rig({ commonDispersionSeconds: dispersion }), ankle, 0, 20_000_000, {
        settlingSeconds: 1,
        guardDispersions,
      })?.toMicroseconds;
    expect(ends(0, 0.1)).toBe(20_930_000 - 40_000);
    expect(ends(3, 0.2)).toBe(20_930_000 - 640_000);
  });

  it('is nothing when settling and guard use up the dwell', () => {
    expect(usableWindow(base.rig, ankle, 0, 5_340_000, choice)).toBeNull();
    expect(usableWindow(base.rig, ankle, 0, 5_340_001, choice)).not.toBeNull();
    expect(usableWindow(base.rig, ankle, 10, 5, choice)).toBeNull();
  });
});

describe('readings in an interval', () => {
  const descriptor = base.streams[0]?.descriptor;
  if (descriptor === undefined) throw new Error('the synthetic record has a stream');
  const stream = (at: number[], values: number[], expectedIntervalSeconds: number | null = 0.00001) =>
    prepareReadings({
      descriptor: { ...descriptor, expectedIntervalSeconds },
      atMicroseconds: Float64Array.from(at),
      values: Float64Array.from(values),
    });

  it('is half-open: the beginning belongs to it, the end does not', () => {
    const readings = stream([10, 20, 30, 40], [1, 2, 3, 4]);
    expect(within(readings, { fromMicroseconds: 20, toMicroseconds: 40 })).toEqual({ first: 1, end: 3 });
    expect(within(readings, { fromMicroseconds: 21, toMicroseconds: 41 })).toEqual({ first: 2, end: 4 });
    expect(within(readings, { fromMicroseconds: 50, toMicroseconds: 60 })).toEqual({ first: 4, end: 4 });
    expect(within(readings, { fromMicroseconds: 30, toMicroseconds: 20 })).toEqual({ first: 2, end: 2 });
    expect(meanWithin(readings, { fromMicroseconds: 20, toMicroseconds: 40 })).toBe(2.5);
    expect(meanWithin(readings, { fromMicroseconds: 41, toMicroseconds: 99 })).toBeNull();
  });

  it('neighbouring intervals share no reading and lose none', () => {
    const readings = stream([10, 10, 20, 20, 20, 30], [1, 2, 3, 4, 5, 6]);
    const left = within(readings, { fromMicroseconds: 0, toMicroseconds: 20 });
    const right = within(readings, { fromMicroseconds: 20, toMicroseconds: 31 });
    expect([left, right]).toEqual([
      { first: 0, end: 2 },
      { first: 2, end: 6 },
    ]);
  });

  it('sees silence inside and at both ends', () => {
    const readings = stream([10, 20, 60, 70], [1, 1, 1, 1]);
    expect(longestSilence(readings, { fromMicroseconds: 10, toMicroseconds: 70 })).toBe(40);
    expect(longestSilence(readings, { fromMicroseconds: 10, toMicroseconds: 200 })).toBe(130);
    expect(longestSilence(readings, { fromMicroseconds: 0, toMicroseconds: 12 })).toBe(10);
    expect(longestSilence(readings, { fromMicroseconds: 100, toMicroseconds: 300 })).toBe(200);
  });

  it('sets values aside that are no numbers, and remembers when they came', () => {
    const readings = stream([10, 20, 30], [1, Number.NaN, 3]);
    expect([...readings.values]).toEqual([1, 3]);
    expect([...readings.atMicroseconds]).toEqual([10, 30]);
    expect(readings.unusableAtMicroseconds).toEqual([20]);
  });

  it('takes the usual interval from the readings where the stream does not name one', () => {
    expect(stream([0, 10, 20, 100], [1, 1, 1, 1], null).intervalMicroseconds).toBe(10);
    expect(stream([5], [1], null).intervalMicroseconds).toBe(0);
    expect(stream([0, 10], [1, 1], 0.05).intervalMicroseconds).toBe(50_000);
  });
});
