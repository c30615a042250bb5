import type { Failure } from '../bridge/snapshot.ts';
import { toSerialError } from './worker/serial-error.ts';

/** An error as a window shows it: what, where, what to do. One that is none of ours is a defect. */
export function failureOf(error: unknown): Failure {
  const { code, message, where, remedy } = toSerialError(error, 'host');
  return { code, what: message, where, remedy };
}
