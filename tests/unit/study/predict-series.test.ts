import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { methodForRig, usableOptions } from '../../../src/leakage/method-for-rig.ts';
import type { Exercise } from '../../../src/model/series.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { predictUsableSeconds } from '../../../src/series/usable.ts';
import { predictProbes } from '../../../src/study/predict-series.ts';
import type { KnownScatter, PredictedProbe } from '../../../src/study/predict-series.ts';

const { rig, series } = demo;
const method = { ...methodForRig(rig), lagCorrection: false };
const known: KnownScatter = {
  blank: { standardDeviation: 0.001, autocorrelationSum: 2, degreesOfFreedom: 500, readings: 600, blanks: 4 },
  intervalSeconds: 0.05,
  slice: { logStandard: 0.26, degreesOfFreedom: 60, from: 'successive exercises', pairs: 90, windowSeconds: 12.46 },
};

function predict(change: Partial<Exercise>, scatter: KnownScatter | null = known): PredictedProbe[] {
  const exercises = series.exercises.map((one) => ({ ...one, ...change }));
  const schedule = compileSchedule({ ...series, exercises }, rig);
  return predictProbes(schedule, predictUsableSeconds(schedule, rig, usableOptions(method)), rig, method, scatter);
}
const hood = (change: Partial<Exercise>, scatter?: KnownScatter | null): PredictedProbe =>
  predict(change, scatter)[0] as PredictedProbe;

describe('what a series promises of a probe', () => {
  it('is computed by hand for the hood of the demo', () => {
    // Usable: 18 s − valve 0.15 − settling 5 − guard 3 · 0.08 + 0.15; zero: 22 s − 0.15 − 9 − 0.39. 20 readings/s.
    const [window, zero] = [18 - 0.15 - 5 - 0.39, 22 - 0.15 - 9 - 0.39];
    expect(hood({}).leastUsableSeconds).toBeCloseTo(window, 9);
    const noise = (seconds: number): number => 0.001 * Math.sqrt(2 / Math.floor(seconds / 0.05));
    const variance = 2 * noise(window) ** 2 + (2 * noise(zero) ** 2) / 2;
    const [probe, reference] = [rig.ports[0], rig.ports[5]];
    const into = (probe?.dilution.value ?? 0) / (probe?.penetration.value ?? 0);
    const through = (reference?.dilution.value ?? 0) / (reference?.penetration.value ?? 0);
    const nominal = rig.challenge.nominal / through;
    const limit = (3 * Math.sqrt(variance) * 100 * into) / (nominal * rig.spatialFactor.value * through);
    expect(hood({}).detectionLimitPercent).toBeCloseTo(limit, 9);
    expect(hood({}).slice?.lowPercent).toBeCloseTo(26, 6);
    expect(hood({}).slice?.highPercent).toBeCloseTo(26, 6);
  });

  it('is better in longer exercises, and what is uncertain of the slice widens away from what was seen', () => {
    const [same, longer] = [hood({}), hood({ durationSeconds: 220 })];
    expect(longer.detectionLimitPercent).toBeLessThan(same.detectionLimitPercent ?? 0);
    expect(longer.slice?.highPercent).toBeCloseTo(26, 6);
    expect(longer.slice?.lowPercent).toBeLessThan(26);
    // Split: never worse than one window of independent air of the same whole length, at best 1/√2.
    const split = hood({ dwellsPerProbe: 2 });
    expect(split.slice?.lowPercent).toBeCloseTo(26 / Math.SQRT2, 6);
    expect(split.slice?.highPercent).toBeGreaterThan(26);
    expect(split.usableSeconds).toBeLessThan(same.usableSeconds);
  });

  it('takes the zeros that the assessment takes: the nearest that can be read on either side', () => {
    const noise = (seconds: number): number => 0.001 * Math.sqrt(2 / Math.floor(seconds / 0.05));
    const usableZero = (seconds: number): number => seconds - 0.15 - 9 - 0.39;
    // The second exercise has no zero of its own: around both lie that of the first and the closing one.
    const last = { ...series.exercises[0], restZeroSeconds: 0, leadInSeconds: 0, durationSeconds: 90 } as Exercise;
    const exercises = [series.exercises[0] as Exercise, { ...last, exercise: 'last' }];
    const long = { ...series, exercises, closing: { ...series.closing, zeroSeconds: 200 } };
    const limitOf = (one: typeof series): number => {
      const schedule = compileSchedule(one, rig);
      const usable = predictUsableSeconds(schedule, rig, usableOptions(method));
      return predictProbes(schedule, usable, rig, method, known)[0]?.detectionLimitPercent ?? Number.NaN;
    };
    const window = 18 - 0.15 - 5 - 0.39;
    const around = (...zeros: number[]): number => Math.hypot(...zeros.map((one) => noise(usableZero(one)) / 2));
    const background = Math.hypot(noise(series.background.dwellSeconds - 2 - 3.54), around(22, 22));
    const of = (zeros: number): number => Math.hypot(noise(window), zeros, background);
    const ratio = limitOf(long) / limitOf({ ...long, closing: series.closing });
    expect(ratio).toBeCloseTo(of(around(22, 200)) / of(around(22, 22)), 3);
    // A closing zero that cannot be read is none: what is before holds alone.
    const short = { ...long, closing: { ...series.closing, zeroSeconds: 9.6 } };
    expect(limitOf(short) / limitOf({ ...long, closing: series.closing })).toBeCloseTo(
      of(noise(usableZero(22))) / of(around(22, 22)),
      3,
    );
  });

  it('gives no limit in the breathing zone, where it takes a breath that nobody has measured', () => {
    const ports = rig.ports.map((port) => (port.probe === 'hood' ? { ...port, breathingZone: true } : port));
    const schedule = compileSchedule(series, rig);
    const usable = predictUsableSeconds(schedule, rig, usableOptions(method));
    const of = (one: typeof method): PredictedProbe[] => predictProbes(schedule, usable, { ...rig, ports }, one, known);
    expect(of(method)[0]).toMatchObject({ breathed: true, detectionLimitPercent: null });
    expect(of(method)[1]).toEqual(predict({})[1]);
    expect(of({ ...method, applyBreathingZone: false })[0]).toEqual(predict({})[0]);
  });

  it('says nothing where nothing is known, and counts the exercises that do not see the probe', () => {
    expect(hood({}, null)).toMatchObject({ detectionLimitPercent: null, slice: null, exercisesUnseen: 0 });
    const unseen = { detectionLimitPercent: null, slice: null, exercisesUnseen: 10 };
    expect(hood({ dwellsPerProbe: 4 })).toMatchObject(unseen);
  });
});
