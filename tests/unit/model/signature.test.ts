import { describe, expect, it } from 'vitest';
import type { SignatureStep, SignedStep } from '../../../src/model/signature.ts';
import { followSignatures, refuseSigning, unsigned } from '../../../src/model/signature.ts';

/** `anna assessed 1`: who signed which assessment as what, in order. */
function signed(...lines: string[]): SignedStep[] {
  return lines.map((line, index) => {
    const [person = '', step = '', assessment = ''] = line.split(' ');
    return { number: index + 1, person, step: step as SignatureStep, assessment: `a-${assessment}` };
  });
}
const standing = (lines: readonly string[], assessment = 'a-1'): string[] =>
  (followSignatures(signed(...lines)).assessments.get(assessment)?.standing ?? []).map(({ step }) => step);
const released = (...lines: string[]): string | null =>
  followSignatures(signed(...lines)).released?.assessment ?? null;
const refused = (lines: readonly string[], person: string, step: SignatureStep, chosenBy: string | null = null) =>
  refuseSigning(followSignatures(signed(...lines)).assessments.get('a-1') ?? unsigned, { person, step }, chosenBy)
    ?.what ?? null;

const whole = ['anna assessed 1', 'rita reviewed 1', 'rita released 1'];

describe('signatures', () => {
  it('follow each other in one order', () => {
    expect(standing(whole)).toEqual(['assessed', 'reviewed', 'released']);
    expect(refused([], 'rita', 'reviewed')).toContain('not signed as assessed');
    expect(refused([], 'rita', 'released')).toContain('not signed as assessed');
    expect(refused(['anna assessed 1'], 'rita', 'released')).toContain('not signed as reviewed');
    expect(refused(['anna assessed 1'], 'otto', 'assessed')).toContain('by anna already');
    expect(refused(whole, 'otto', 'released')).toContain('by rita already');
    expect(refused([], 'anna', 'assessed')).toBeNull();
    expect(refused(['anna assessed 1', 'rita reviewed 1'], 'anna', 'released')).toBeNull();
  });

  it('take a second person to review: not who assessed, not who took that back, not who had it made', () => {
    expect(refused(['anna assessed 1'], 'anna', 'reviewed')).toContain('cannot review');
    expect(refused(['anna assessed 1', 'rita withdrawn 1', 'otto assessed 1'], 'anna', 'reviewed')).toContain('anna');
    expect(refused(['anna assessed 1'], 'rita', 'reviewed', 'rita')).toContain('rita had this assessment made');
    expect(refused(['anna assessed 1'], 'rita', 'reviewed', 'otto')).toBeNull();
    // Capitals do not make another person.
    expect(refused(['anna assessed 1'], 'Anna', 'reviewed')).toContain('cannot review');
    expect(refused(['anna assessed 1'], 'RITA', 'reviewed', 'rita')).toContain('cannot review');
  });

  it('are taken back one by one, the last that stands first', () => {
    expect(standing([...whole, 'rita withdrawn 1'])).toEqual(['assessed', 'reviewed']);
    expect(standing([...whole, 'rita withdrawn 1', 'rita withdrawn 1', 'rita withdrawn 1'])).toEqual([]);
    expect(refused([], 'rita', 'withdrawn')).toContain('No signature');
    expect(refused([...whole, 'rita withdrawn 1'], 'otto', 'released')).toBeNull();
  });

  it('name one result: the assessment that was released last, and none once that is taken back', () => {
    const other = ['anna assessed 2', 'rita reviewed 2'];
    expect(released(...whole)).toBe('a-1');
    expect(released(...whole, ...other)).toBe('a-1');
    expect(released(...whole, ...other, 'rita released 2')).toBe('a-2');
    expect(standing([...whole, ...other, 'rita released 2'])).toEqual(['assessed', 'reviewed']);
    expect(released(...whole, ...other, 'rita released 2', 'rita withdrawn 2')).toBeNull();
    expect(released(...whole, ...other, 'rita withdrawn 2')).toBe('a-1');
    expect(released(...whole, ...other, 'rita released 2', 'otto released 1')).toBe('a-1');
  });
});
