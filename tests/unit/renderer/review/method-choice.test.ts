import { describe, expect, it } from 'vitest';
import { readMethodFile } from '../../../../renderer/review/method-choice.tsx';
import { reviewAskSchema } from '../../../../src/bridge/review.ts';
import { firstMethod } from '../../../../src/leakage/default-method.ts';

const own = { ...firstMethod, name: 'house-rule', version: 1 };
const ask = { person: 'rita', pin: '4711', reason: 'a house rule', leftOut: [] };

describe('a file of a method, on the review desk', () => {
  it('is the method, and passes the bridge as it is', () => {
    expect(readMethodFile('own.json', JSON.stringify(own))).toEqual({ method: own });
    expect(reviewAskSchema.parse({ ...ask, method: own }).method).toEqual(own);
  });

  it.each([
    ['what is no JSON', '{ "name": ', /no JSON/],
    ['the name of a shipped one', JSON.stringify(firstMethod), /comes with the program is called first/],
    ['a field that nobody knows', JSON.stringify({ ...own, magic: 1 }), /magic/],
    ['a value out of its range', JSON.stringify({ ...own, detectionFactor: 0 }), /detectionFactor/],
  ])('is refused for %s, naming the file', (_, text, found) => {
    const read = readMethodFile('own.json', text);
    expect(read).toMatchObject({ failure: { code: 'configuration-invalid', where: 'own.json' } });
    expect('failure' in read ? read.failure.what : '').toMatch(found);
  });

  it('with more than a method in it does not pass the bridge', () => {
    expect(reviewAskSchema.safeParse({ ...ask, method: { ...own, magic: 1 } }).success).toBe(false);
  });
});
