import { describe, expect, it } from 'vitest';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { breathsFromFlow } from '../../../src/physiology/breathing.ts';
import { btpsFactor, saturationPressure } from '../../../src/physiology/gas-volume.ts';
import { gaussianSource } from '../../support/gaussian.ts';

const air = { celsius: 22, pressure: 755, relativeHumidity: 0.5 };
const factor = btpsFactor(air);

/** Breaths of 1.2 s in and 1.8 s out at 50 Hz, each of its own volume (L as measured), on a drifting baseline. */
function flow(volumes: readonly number[], level: number, drift: number, noise: number) {
  const draw = gaussianSource(3);
  const seconds = Float64Array.from({ length: volumes.length * 150 + 60 }, (_, index) => index / 50);
  const litresPerSecond = seconds.map((at) => {
    const breath = Math.floor((at - 0.6) / 3);
    const inside = at - 0.6 - 3 * breath;
    const volume = volumes[breath] ?? 0;
    const half = inside < 1.2 ? 1.2 : 1.8;
    const phase = inside < 1.2 ? inside / 1.2 : (inside - 1.2) / 1.8;
    const sign = inside < 1.2 ? 1 : -1;
    const own = ((sign * volume * Math.PI) / (2 * half)) * Math.sin(Math.PI * phase);
    return own + level + drift * at + noise * draw();
  });
  return { seconds, litresPerSecond };
}

const even = Array.from({ length: 20 }, () => 1);

describe('breathsFromFlow', () => {
  it('finds times, volumes and rate', () => {
    const found = breathsFromFlow(flow(even, 0, 0, 0), air);
    expect(found.accepted).toBeGreaterThanOrEqual(18);
    expect(found.ratePerMinute).toBeCloseTo(20, 3);
    expect(found.inspirationSeconds).toBeCloseTo(1.2, 2);
    expect(found.expirationSeconds).toBeCloseTo(1.8, 2);
    expect(found.tidalLitres / factor).toBeCloseTo(1, 3);
    expect(found.minuteLitres / factor).toBeCloseTo(20, 2);
  });

  it('removes a level and a straight drift that would add a fifth of a breath', () => {
    const found = breathsFromFlow(flow(even, 0.08, 0.002, 0.005), air);
    expect(found.tidalLitres / factor).toBeCloseTo(1, 2);
    const inside = found.breaths.filter(({ refused }) => refused === null);
    const out = inside.reduce((sum, { expiredLitres }) => sum + expiredLitres, 0) / inside.length;
    expect(out / found.tidalLitres).toBeCloseTo(1, 2);
    expect(found.baseline[0]).toBeCloseTo(0.08 + 0.002 * (found.breaths[0]?.startSeconds ?? 0), 3);
    expect(found.baseline[1] - found.baseline[0]).toBeGreaterThan(0.1);
  });

  it('takes no wiggle about nothing for a breath', () => {
    expect(breathsFromFlow(flow(even, 0, 0, 0.02), air).ratePerMinute).toBeCloseTo(20, 1);
  });

  it('keeps and names what is no breath, and leaves it out of the means', () => {
    const found = breathsFromFlow(flow([...even.slice(0, 9), 6, ...even.slice(0, 9)], 0, 0, 0), air);
    expect(found.breaths.filter(({ refused }) => refused === 'too large')).toHaveLength(1);
    expect(found.tidalLitres / factor).toBeCloseTo(1, 2);
  });

  it.each([
    ['no flow', flow(even, 0, 0, 0).litresPerSecond.fill(0)],
    ['a reading that is no number', flow(even, 0, 0, 0).litresPerSecond.fill(NaN, 40, 41)],
    ['two breaths', flow([1, 1], 0, 0, 0).litresPerSecond],
  ])('refuses %s, and says what to do', (_, litresPerSecond) => {
    const seconds = Float64Array.from(litresPerSecond, (__, index) => index / 50);
    try {
      breathsFromFlow({ seconds, litresPerSecond }, air);
      expect.unreachable();
    } catch (error) {
      if (!isChambersideError(error, 'record-insufficient')) throw error;
      expect(error.remedy).toMatch(/sensor/);
    }
  });

  it('refuses times that stand still', () => {
    const record = flow(even, 0, 0, 0);
    expect(() => breathsFromFlow({ ...record, seconds: record.seconds.fill(3, 10, 12) }, air)).toThrow(/ascend/);
  });
});

describe('gas volumes', () => {
  it('take the humidity into account', () => {
    expect(btpsFactor({ ...air, relativeHumidity: 0 })).toBeGreaterThan(btpsFactor({ ...air, relativeHumidity: 1 }));
  });

  it.each([
    () => btpsFactor({ ...air, celsius: 60 }),
    () => btpsFactor({ ...air, pressure: 101.3 }),
    () => btpsFactor({ ...air, relativeHumidity: 50 }),
    () => saturationPressure(-5),
    () => saturationPressure(Number.NaN),
  ])('refuse %s', (call) => {
    expect(call).toThrow(/holds from/);
  });
});
