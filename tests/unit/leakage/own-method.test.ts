import { describe, expect, it } from 'vitest';
import { scenarios } from '../../../drivers/virtual-rig/scenarios/index.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { shippedMethods } from '../../../src/leakage/methods.ts';
import { notApplied } from '../../../src/leakage/not-applied.ts';
import { parseMethod } from '../../../src/leakage/own-method.ts';
import { textOf } from '../../../src/report/document.ts';
import { methodSteps } from '../../../src/report/method-section.ts';

function refusal(data: unknown): ChambersideError {
  try {
    parseMethod(data, 'own.json');
  } catch (error) {
    if (error instanceof ChambersideError) return error;
    throw error;
  }
  throw new Error('it was taken');
}

const own = { ...firstMethod, name: 'house-rule', version: 1 };

it('a shipped method under another name is a method of one’s own', () => {
  for (const method of shippedMethods) {
    expect(parseMethod({ ...method, name: 'house-rule' }, 'own.json')).toEqual({ ...method, name: 'house-rule' });
  }
});

describe('refused, with the field', () => {
  it.each<[string, object, RegExp]>([
    ['a name that ships', { name: 'adaptive' }, /name: a method that comes with the program is called adaptive/],
    ['a name with a space', { name: 'house rule' }, /name: use lower-case/],
    ['a field that nobody knows', { settlingSeconds: 4 }, /method: .*settlingSeconds/],
    [
      'a field of the other rule',
      { settling: { rule: 'fixed', seconds: 4, windowSeconds: 2 } },
      /settling: .*windowSeconds/,
    ],
    ['a negative wait', { settling: { rule: 'fixed', seconds: -4 } }, /settling\.seconds/],
    ['a wait of an hour', { zeroSettlingSeconds: 3600 }, /zeroSettlingSeconds/],
    ['more than everything carried over', { carryOverPercent: 101 }, /carryOverPercent/],
    ['no number', { lagEndSeconds: '0.3' }, /lagEndSeconds/],
    ['half a version', { version: 1.5 }, /version/],
    ['a definition that nobody knows', { detectionLimit: 'six-s' }, /detectionLimit/],
    ['a way that is not computed', { interpolation: 'cubic' }, /interpolation/],
  ])('%s', (_, change, words) => {
    const error = refusal({ ...own, ...change });
    expect(error.code).toBe('configuration-invalid');
    expect(error.message).toMatch(words);
    expect(error.where).toBe('own.json');
    expect(error.remedy).toMatch(/docs\/guides\/methods\.md/);
  });

  it('what is left out, all at once', () => {
    const short = { ...own, carryOverPercent: undefined, lagCorrection: undefined };
    expect(refusal(short).message).toMatch(/lagCorrection.*carryOverPercent/);
  });

  it.each([[null], [[]], ['first'], [12]])('%j, which is no method', (data) => {
    expect(refusal(data).code).toBe('configuration-invalid');
  });
});

it('every choice changes what is said of a method', () => {
  const said = (change: object): string =>
    methodSteps(parseMethod({ ...own, ...change }, 'own.json'))
      .map(textOf)
      .join('\n');
  const plain = said({});
  const changes: object[] = [
    { interpolation: 'before-and-after-mean' },
    { zeroDriftShape: 'random-walk' },
    { settling: { rule: 'fixed', seconds: 6 } },
    { settling: { rule: 'adaptive', seconds: 5, windowSeconds: 3 } },
    { zeroSettlingSeconds: 12 },
    { lagCorrection: false },
    { lagEndSeconds: 0.5 },
    { guardDispersions: 4 },
    { subtractBackground: false },
    { applyDilution: false },
    { applyPenetration: false },
    { applySpatialFactor: false },
    { carryOverPercent: 2 },
    { detectionFactor: 4 },
    { detectionLimit: 'ten-s' },
    { detectionLimit: 't-s' },
    { challengeChangePercent: 5 },
    { zeroChangePercent: 0.4 },
    { zeroStepDeviations: 7 },
    { spanChangePercent: 5 },
  ];
  const texts = changes.map((change) => said(change));
  for (const [index, text] of texts.entries()) expect(text, JSON.stringify(changes[index])).not.toBe(plain);
  expect(new Set(texts).size).toBe(texts.length);
});

it('tells what a rig states and a method does not apply', () => {
  const { rig } = scenarios.sharp;
  expect(notApplied(rig, firstMethod)).toEqual([]);
  const none = {
    ...{ applyDilution: false, applyPenetration: false, applySpatialFactor: false },
    ...{ subtractBackground: false, lagCorrection: false },
  };
  const told = notApplied(rig, { ...firstMethod, ...none }).join('; ');
  expect(told).toMatch(/dilution 20 of ankle.*spatial factor 0\.96.*background.*lag of the photometer \(1 s\)/);
  expect(told).toMatch(/penetration 0\.9\d+ of the line of/);
});
