import { expect, it } from 'vitest';
import { short } from '../../../drivers/virtual-rig/scenarios/short.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { driftInWords, judgeDrift } from '../../../src/leakage/drift.ts';
import { beginProvisional, type SettledMean } from '../../../src/leakage/provisional.ts';

const { rig } = short;
/** The reference behind a diluter: what it reads is a twentieth of the challenge. */
const diluted = {
  ...rig,
  ports: rig.ports.map((port) =>
    port.role === 'reference' ? { ...port, dilution: { ...port.dilution, value: 20 } } : port,
  ),
};
const mean = (dwell: number, reading: number): SettledMean => {
  return { dwell, reading, squaredWeights: 0.01, toMicroseconds: dwell };
};
const measured = (reference: number, zero: number) => ({
  ...beginProvisional(),
  ...{ firstReference: mean(1, 20.01), firstReferenceZero: mean(0, 0.01), reference: mean(8, reference) },
  zero: mean(9, zero),
});

// By hand: net 20.00 first; limits 10 % of it and 0.2 % of it are those of the method, common practice, no source.
it.each([
  ['nothing moved', measured(20.01, 0.01), 'good', 0, 0],
  ['both within their limits', measured(21.04, 0.04), 'good', 5, 0.15],
  ['the challenge beyond its limit', measured(17.51, 0.01), 'doubt', -12.5, 0],
  ['the zero beyond its limit', measured(20.06, 0.06), 'doubt', 0, 0.25],
] as const)('first against last: %s', (_, state, verdict, challenge, zero) => {
  const found = judgeDrift(state, firstMethod, rig);
  expect(found.verdict).toBe(verdict);
  expect(found.challengePercent).toBeCloseTo(challenge, 9);
  expect(found.zeroPercent).toBeCloseTo(zero, 9);
});

// By hand: 0.05 of 20.00 read behind a dilution of 20 is 0.05 of 400, 0.0125 %; as for the zeros around a window.
it('is of the challenge, and not of what a diluted reference reads', () => {
  const found = judgeDrift(measured(20.06, 0.06), { ...firstMethod, applyDilution: true }, diluted);
  expect(found.zeroPercent).toBeCloseTo(0.0125, 9);
  expect(found.verdict).toBe('good');
  expect(judgeDrift(measured(20.06, 0.06), { ...firstMethod, applyDilution: false }, diluted).verdict).toBe('doubt');
});

it('cannot be told from one reference, and says so', () => {
  const one = { ...measured(20, 0.01), reference: mean(1, 20.01) };
  const found = judgeDrift(one, firstMethod, rig);
  expect(found.verdict).toBe('open');
  expect(driftInWords(found, 'mg/m3')).toContain('fewer than two references');
});

it('is said with both readings, the change and the limit', () => {
  const words = driftInWords(judgeDrift(measured(17.51, 0.01), firstMethod, rig), 'mg/m3');
  expect(words).toBe(
    'Challenge 20.0 → 17.5 mg/m³, −13 % (limit 10 %); zero 0.0100 → 0.0100 mg/m³, +0 % of the challenge ' +
      '(limit 0.2 %): doubt',
  );
});
