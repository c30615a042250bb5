import { ChambersideError } from '../../model/error-code.ts';

/** What a person asked for cannot be done now. */
export function refusal(what: string, where: string, remedy: string): ChambersideError {
  return new ChambersideError('action-refused', what, where, remedy);
}
