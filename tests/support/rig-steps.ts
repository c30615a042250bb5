import { expect } from 'vitest';
import { RigPhysics } from '../../drivers/virtual-rig/physics.ts';
import type { Scenario } from '../../drivers/virtual-rig/scenario.ts';
import { demo } from '../../drivers/virtual-rig/scenarios/demo.ts';
import { combineSteps, fitStep, type StepReadings } from '../../src/calibration/step-response.ts';
import { solePort } from '../../src/model/rig.ts';

/** The demo rig, drawn, with another line and another photometer. */
export function rigWith(dispersionSeconds: number, timeConstantSeconds: number): Scenario {
  return {
    ...demo,
    rig: {
      ...demo.rig,
      commonTransitSeconds: { value: 1, standardUncertainty: 0.02 },
      commonDispersionSeconds: dispersionSeconds,
      timeConstantSeconds: { value: timeConstantSeconds, standardUncertainty: 0.03 * timeConstantSeconds },
    },
    sampling: { ...demo.sampling, portDispersionSeconds: 0 },
  };
}

/**
 * Readings around falls into filtered air, 20 a second, each against the middle of the valve's movement, beside what
 * the rig really is. Each fall is read from another moment of the sampling interval.
 */
export function rigFalls(
  scenario: Scenario,
  seed: number,
  repeats: number,
): { readonly steps: StepReadings[]; readonly transitSeconds: number; readonly timeConstantSeconds: number } {
  const physics = new RigPhysics({ scenario, seed, truth: null, startedInside: { exercise: null } });
  const reference = solePort(scenario.rig, 'reference').port;
  const filtered = solePort(scenario.rig, 'filtered-air').port;
  const { commonTransitSeconds, timeConstantSeconds } = physics.trueValues;
  const lead = Math.ceil(2 * commonTransitSeconds + 10 * timeConstantSeconds);
  const steps: StepReadings[] = [];
  let now = 0;
  for (let repeat = 0; repeat < repeats; repeat += 1) {
    physics.moveValve(now * 1e6, reference);
    const change = now + lead + 0.013 * repeat;
    const middle = Math.round(change * 100) / 100 + scenario.rig.valveSwitchingSeconds / 2;
    const seconds: number[] = [];
    const values: number[] = [];
    let moved = false;
    for (let tick = 0; ; tick += 1) {
      const at = now + lead - 2 + tick * 0.05;
      if (at > change + lead) break;
      if (!moved && at >= change) {
        physics.moveValve(Math.round(change * 1e6), filtered);
        moved = true;
      }
      seconds.push(at - middle);
      values.push(physics.readPhotometer(Math.round(at * 1e6)));
    }
    steps.push({ seconds: Float64Array.from(seconds), values: Float64Array.from(values) });
    now = Math.ceil(change + lead + 1);
  }
  return { steps, transitSeconds: commonTransitSeconds, timeConstantSeconds };
}

/** Transit to 25 ms, time constant to 3 %, their sum to 10 ms: what is asked up to a dispersion of tau/3. */
export function expectWithinTolerances(dispersionSeconds: number, timeConstantSeconds: number, seed: number): void {
  const { steps, ...truth } = rigFalls(rigWith(dispersionSeconds, timeConstantSeconds), seed, 5);
  const response = combineSteps(
    steps.map((step) => fitStep(step, { transitSeconds: 1, timeConstantSeconds })),
    0.05,
  );
  const late = response.transitSeconds.value - truth.transitSeconds;
  const slow = response.timeConstantSeconds.value - truth.timeConstantSeconds;
  expect(Math.abs(late)).toBeLessThanOrEqual(0.025);
  expect(Math.abs(slow / truth.timeConstantSeconds)).toBeLessThanOrEqual(0.03);
  expect(Math.abs(late + slow)).toBeLessThanOrEqual(0.01);
  expect(Math.abs(late)).toBeLessThanOrEqual(3 * response.transitSeconds.standardUncertainty);
}
