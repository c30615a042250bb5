import { ChambersideError } from '../../model/error-code.ts';
import type { ErrorCode } from '../../model/error-code.ts';

/** One of our errors between threads: structured cloning keeps neither its class nor its fields. */
export interface SerialError {
  readonly code: ErrorCode;
  /** What is wrong, without place and remedy. */
  readonly message: string;
  readonly where: string;
  readonly remedy: string;
}

/** @param where place named for an error that is none of ours. */
export function toSerialError(error: unknown, where: string): SerialError {
  const known =
    error instanceof ChambersideError
      ? error
      : new ChambersideError(
          'internal',
          error instanceof Error ? error.message : String(error),
          where,
          'Report this.',
          error,
        );
  return { code: known.code, message: known.what, where: known.where, remedy: known.remedy };
}

export function reviveError(error: SerialError): ChambersideError {
  return new ChambersideError(error.code, error.message, error.where, error.remedy);
}
