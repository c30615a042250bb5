import { describe, expect, it } from 'vitest';
import { newPersonSchema, planSchema } from '../../../src/bridge/contract.ts';
import { personSchema } from '../../../src/host/store/laboratory.ts';
import { codeSchema, ensembleNameSchema } from '../../../src/model/identity.ts';

const good = ['S01', '7', 'anna.z', 'A_b-C', 'x'.repeat(20)];
const marks = ['.S01', '-x', '_x', 'a/b', 'a\\b', '..', 'a\u0000'];
const bad = ['', ' ', 'S 01', ' S01', 'S01\n', ...marks, 'x'.repeat(21), 'Ä1'];

describe('a code', () => {
  it.each(good)('may be %j', (code) => expect(codeSchema.safeParse(code).success).toBe(true));
  it.each(bad)('may not be %j', (code) => expect(codeSchema.safeParse(code).success).toBe(false));

  it.each([...good, ...bad])('is held to one rule wherever it comes in: %j', (code) => {
    const expected = codeSchema.safeParse(code).success;
    const taken = [planSchema.shape.subject, newPersonSchema.shape.code, personSchema.shape.code].map(
      (schema) => schema.safeParse(code).success,
    );
    expect(taken).toEqual([expected, expected, expected]);
  });
});

describe('the name of an ensemble', () => {
  it.each(['A', 'Coverall A, taped', 'Schutzanzug Größe L', 'x'.repeat(80)])('may be %j', (name) => {
    expect(ensembleNameSchema.safeParse(name).success).toBe(true);
  });
  it.each(['', ' ', '\u2003 ', 'x'.repeat(81), 'A\nB', 'A\u0007', 'A\u2028B'])('may not be %j', (name) => {
    expect(ensembleNameSchema.safeParse(name).success).toBe(false);
  });
});
