import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  betaQuantile,
  effectiveDegreesOfFreedom,
  noncentralStudentQuantile,
  normalQuantile,
  studentQuantile,
} from '../../src/statistics/distributions.ts';
import { allowance, distributionRows, ownValue } from '../support/r/distribution-rows.ts';

const recorded = readFileSync(new URL('../../fixtures/r/distributions.csv', import.meta.url), 'utf8');
const rows = distributionRows(recorded);

describe(`as ${recorded.split('\n')[0]?.slice(2).trim() ?? ''} has them (recorded by tests/landing/r)`, () => {
  it.each([...new Set(rows.map(({ name }) => name))])('%s', (name) => {
    const ofName = rows.filter((row) => row.name === name);
    expect(ofName.length).toBeGreaterThan(8);
    const apart = ofName
      .map((row) => ({ ...row, own: ownValue(row), allowance: allowance(row) }))
      .filter((row) => !(Math.abs(row.own - row.expected) <= row.allowance));
    expect(apart).toEqual([]);
  });
});

describe("Student's t", () => {
  it('t(0.995) with 16 degrees of freedom is 2.920782 (computed; 2.92 in GUM H.1, from memory)', () => {
    expect(Math.abs(studentQuantile(0.995, 16) - 2.920782)).toBeLessThan(1e-6);
  });

  it('budget of GUM H.1: u 31.6711 nm with 16.7646 degrees (components seen, degrees from memory, recomputed)', () => {
    const parts = [
      { standardUncertainty: 25, degreesOfFreedom: 18 },
      { standardUncertainty: 9.7, degreesOfFreedom: 25.6 },
      { standardUncertainty: 2.9, degreesOfFreedom: 50 },
      { standardUncertainty: 16.6, degreesOfFreedom: 2 },
    ];
    expect(Math.abs(Math.hypot(...parts.map((part) => part.standardUncertainty)) - 31.6711)).toBeLessThan(1e-3);
    expect(Math.abs(effectiveDegreesOfFreedom(parts) - 16.7646)).toBeLessThan(1e-3);
  });
});

describe('noncentral t: one-sided tolerance factors of n values (computed; 2.9110 in common tables)', () => {
  const factor = (n: number, coverage: number, confidence: number): number =>
    noncentralStudentQuantile(confidence, n - 1, normalQuantile(coverage) * Math.sqrt(n)) / Math.sqrt(n);

  it.each([
    [10, 0.95, 0.95, 2.911],
    [10, 0.9, 0.95, 2.3546],
    [10, 0.99, 0.95, 3.9811],
    [43, 0.9, 0.99, 1.874],
    [5, 0.99, 0.95, 5.7411],
    [90, 0.8, 0.95, 1.0611],
    [90, 0.95, 0.95, 1.9438],
  ])('n %i, coverage %f, confidence %f: %f', (n, coverage, confidence, expected) => {
    expect(Math.abs(factor(n, coverage, confidence) - expected)).toBeLessThan(5e-4);
  });

  it('n 43, coverage 0.90, confidence 0.99 is 1.87395 (exact value beside the handbook 7.2.6.3 example)', () => {
    expect(Math.abs(factor(43, 0.9, 0.99) - 1.87395)).toBeLessThan(1e-5);
  });

  it('n 40, coverage 0.90, confidence 0.99 is 1.9017 (seen: worked example of a statistics site)', () => {
    expect(Math.abs(factor(40, 0.9, 0.99) - 1.9017)).toBeLessThan(1e-4);
  });
});

describe('beta: exact limits of a share, 95 % (computed: Clopper–Pearson)', () => {
  it.each([
    [8, 10, 0.493099, 0.443905, 0.974789],
    [82, 90, 0.845329, 0.832347, 0.960839],
    [46, 50, 0.826209, 0.807657, 0.977772],
  ])('%i of %i', (count, n, oneSided, lower, upper) => {
    expect(Math.abs(betaQuantile(0.05, count, n - count + 1) - oneSided)).toBeLessThan(1e-6);
    expect(Math.abs(betaQuantile(0.025, count, n - count + 1) - lower)).toBeLessThan(1e-6);
    expect(Math.abs(betaQuantile(0.975, count + 1, n - count) - upper)).toBeLessThan(1e-6);
  });

  it('10 of 10 has a lower limit of 0.741134, none of 10 an upper one of 0.258866', () => {
    expect(Math.abs(betaQuantile(0.05, 10, 1) - 0.741134)).toBeLessThan(1e-6);
    expect(Math.abs(betaQuantile(0.95, 1, 10) - 0.258866)).toBeLessThan(1e-6);
  });
});
