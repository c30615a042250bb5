import { ORPCError, ValidationError } from '@orpc/server';
import { z } from 'zod';
import type { Failure } from '../../bridge/snapshot.ts';
import { isChambersideError } from '../../model/error-code.ts';

/** The failure as a window may see it. Null when it is a defect, whose words are for nobody outside the host. */
export function failureOf(error: unknown): Failure | null {
  if (isChambersideError(error)) {
    return { code: error.code, what: error.what, where: error.where, remedy: error.remedy };
  }
  return null;
}

/**
 * What a procedure threw, as the error that the contract declares.
 * @param where the procedure, `trial.prepare`
 * @param onDefect told of everything that is no refusal: its stack stays on this side.
 */
export function refusalOf(error: unknown, where: string, onDefect: (error: unknown, where: string) => void): unknown {
  const failure = failureOf(error) ?? badInputOf(error, where);
  if (failure !== null) return refusal(failure);
  // The library's own answers (no such procedure, malformed request) are for the programmer of the other end.
  if (error instanceof ORPCError && error.status < 500) return error;
  onDefect(error, where);
  return refusal({
    code: 'internal',
    what: 'The program failed inside',
    where,
    remedy: 'What is recorded is safe. Try again; when it comes back, send us what the terminal says.',
  });
}

function refusal(data: Failure): ORPCError<'REFUSED', Failure> {
  // Without a status of its own: the library takes an error with another than the contract's for an undeclared one.
  return new ORPCError('REFUSED', { defined: true, message: data.what, data });
}

function badInputOf(error: unknown, where: string): Failure | null {
  if (!(error instanceof ORPCError) || error.code !== 'BAD_REQUEST') return null;
  const cause: unknown = error.cause;
  if (!(cause instanceof ValidationError)) return null;
  const first = cause.issues[0];
  const path = z.array(z.unknown()).catch([]).parse(first?.path);
  const field = path.map((part) => String(typeof part === 'object' && part !== null ? Reflect.get(part, 'key') : part));
  return {
    code: 'usage-bad-value',
    what: first?.message ?? 'A value does not have the expected form',
    where: [where, ...field].join('.'),
    remedy: 'Correct the value and try again.',
  };
}
