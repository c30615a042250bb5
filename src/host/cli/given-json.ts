import { ChambersideError } from '../../model/error-code.ts';
import { readGivenFile } from '../given-file.ts';

/**
 * What a file of JSON that somebody gave holds, unchecked.
 * @param what it should be, for the message: `requirement`.
 * @throws ChambersideError `file-not-found`, `file-not-ours`; `configuration-invalid` for what is no JSON.
 */
export function readGivenJson(file: string, what: string): unknown {
  const text = readGivenFile(file, what, 'Check the path.');
  try {
    return JSON.parse(text);
  } catch (error) {
    const found = error instanceof Error ? error.message : 'unreadable';
    throw new ChambersideError('configuration-invalid', `it is no JSON: ${found}`, file, 'Correct the file.', error);
  }
}
