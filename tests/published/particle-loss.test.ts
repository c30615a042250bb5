import { describe, expect, it } from 'vitest';
import {
  diffusionCoefficient,
  diffusionPenetration,
  gravityPenetration,
  linePenetration,
  massMedianDiameter,
  settlingSpeed,
  slipCorrection,
} from '../../src/calibration/particle-loss.ts';
import { reynoldsNumber } from '../../src/calibration/sampling-line.ts';

const relative = (actual: number, expected: number): number => Math.abs(actual / expected - 1);
const apart = (actual: number, expected: number): number => Math.abs(actual - expected);

describe('one particle', () => {
  it('slip at 1 µm is 1.1546 (Hinds from memory; a university course states 1.15)', () => {
    expect(apart(slipCorrection(1), 1.1546)).toBeLessThan(5e-4);
  });

  it('slip at 0.1 µm is 2.9282 after Hinds and 2.8887 after Davies (computed)', () => {
    expect(apart(slipCorrection(0.1), 2.9282)).toBeLessThan(5e-4);
    expect(apart(slipCorrection(0.1, 'davies'), 2.8887)).toBeLessThan(5e-4);
  });

  it('1 µm settles at 3.477e-5 m/s (computed; 3.48e-5 in handbooks, from memory), 3.011e-5 without slip', () => {
    expect(relative(settlingSpeed(1), 3.477e-5)).toBeLessThan(2e-3);
    expect(relative(settlingSpeed(1, 1000, 1), 3.011e-5)).toBeLessThan(1e-4);
  });

  it('0.1 µm diffuses with 6.947e-10 m²/s (computed)', () => {
    expect(relative(diffusionCoefficient(0.1), 6.947e-10)).toBeLessThan(5e-3);
  });

  it('count median 0.2 µm with deviation 1.6 has a mass median of 0.388009 µm (Hatch–Choate from memory)', () => {
    expect(apart(massMedianDiameter(0.2, 1.6), 0.388009)).toBeLessThan(1e-5);
  });
});

describe('penetration of a tube', () => {
  it.each([
    [1e-4, 0.994605],
    [1e-3, 0.975618],
    [1e-2, 0.893557],
    [0.05, 0.715798],
    [0.1, 0.578687],
    [0.5, 0.131577],
    [1, 0.021138],
  ])('diffusion at %f: %f (Gormley and Kennedy 1949, seen in two codes)', (parameter, share) => {
    expect(apart(diffusionPenetration(parameter), share)).toBeLessThan(1e-6);
  });

  it('diffusion steps from 0.836339 to 0.833569 where its branches meet (computed)', () => {
    expect(apart(diffusionPenetration(0.02 - 1e-9), 0.836339)).toBeLessThan(1e-5);
    expect(apart(diffusionPenetration(0.02), 0.833569)).toBeLessThan(1e-5);
  });

  it.each([
    [0.001, 0.998307],
    [0.01, 0.983262],
    [0.1, 0.841669],
    [0.5, 0.336412],
  ])('gravity at %f: %f (Fuchs from memory)', (parameter, share) => {
    expect(apart(gravityPenetration(parameter), share)).toBeLessThan(1e-6);
  });

  const line = { lengthMetres: 2, boreMillimetres: 4, litresPerMinute: 1, slopeDegrees: 0 };

  it.each([
    [0.3, 0.99799, 0.99675],
    [0.5, 0.99527, 0.99793],
    [1, 0.98354, 0.9988],
    [3, 0.87116, 0.99946],
    [5, 0.67127, 0.99962],
  ])('2 m of 4 mm at 1 L/min, %f µm: gravity %f, diffusion %f (computed)', (micrometres, gravity, diffusion) => {
    const found = linePenetration(line, micrometres);
    expect(apart(found.gravity, gravity)).toBeLessThan(2e-4);
    expect(apart(found.diffusion, diffusion)).toBeLessThan(2e-4);
    expect(found.total).toBe(found.gravity * found.diffusion);
  });

  it('the same tube has a Reynolds number of 353 (computed)', () => {
    expect(apart(reynoldsNumber(4, 1), 353)).toBeLessThan(0.5);
  });
});
