import { expect, it } from 'vitest';
import { isReason, reasonProblem } from '../../../../renderer/review/reason.ts';
import { signatureReasonSchema } from '../../../../src/model/signature.ts';
import { voidingReasonSchema } from '../../../../src/model/voiding.ts';

it.each([
  ['', false],
  ['   ', false],
  ['a door was opened', true],
  ['x'.repeat(400), true],
  [` ${'x'.repeat(400)} `, true],
  ['x'.repeat(401), false],
])('%j can be kept: %s, as the record has it', (reason, kept) => {
  expect(isReason(reason)).toBe(kept);
  expect(signatureReasonSchema.safeParse(reason).success).toBe(kept);
  expect(voidingReasonSchema.safeParse(reason).success).toBe(kept);
});

it('is told to be too long, and only then', () => {
  expect(reasonProblem('x'.repeat(401))).toEqual({ kind: 'too-long', limit: 400 });
  expect(reasonProblem('')).toBeUndefined();
});
