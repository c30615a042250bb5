import type { z } from 'zod';

/** What is wrong with a field, for the catalogue to put into words. */
export type FieldProblem =
  | { readonly kind: 'empty' }
  | { readonly kind: 'not-a-number' }
  | { readonly kind: 'not-a-time' }
  | { readonly kind: 'not-whole' }
  | { readonly kind: 'least'; readonly limit: number; readonly inclusive: boolean }
  | { readonly kind: 'most'; readonly limit: number; readonly inclusive: boolean }
  | { readonly kind: 'too-long'; readonly limit: number }
  | { readonly kind: 'too-short'; readonly limit: number }
  | { readonly kind: 'not-json'; readonly detail: string }
  | { readonly kind: 'not-an-object' }
  | { readonly kind: 'differs' }
  /** Another instrument is connected there. */
  | { readonly kind: 'taken'; readonly instrument: string }
  /** The schema says it in words of its own. */
  | { readonly kind: 'said'; readonly text: string };

/** A refusal of a schema as a problem of its field. */
export function problemOfIssue(issue: z.core.$ZodIssue): FieldProblem {
  if (issue.code === 'too_small') {
    const limit = Number(issue.minimum);
    if (issue.origin === 'string') return limit <= 1 ? { kind: 'empty' } : { kind: 'too-short', limit };
    if (issue.origin === 'number' || issue.origin === 'int') {
      return { kind: 'least', limit, inclusive: issue.inclusive ?? true };
    }
  }
  if (issue.code === 'too_big') {
    const limit = Number(issue.maximum);
    if (issue.origin === 'string') return { kind: 'too-long', limit };
    if (issue.origin === 'number' || issue.origin === 'int') {
      return { kind: 'most', limit, inclusive: issue.inclusive ?? true };
    }
  }
  if (issue.code === 'invalid_type') return { kind: issue.expected === 'int' ? 'not-whole' : 'not-a-number' };
  return { kind: 'said', text: issue.message };
}
