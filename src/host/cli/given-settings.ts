import { z } from 'zod';
import { ChambersideError } from '../../model/error-code.ts';
import { readGivenFile } from '../given-file.ts';

/**
 * Settings of a dialect from a file of JSON; none where no file is given.
 * @throws ChambersideError `configuration-invalid`, and as `readGivenFile`.
 */
export function givenSettings(path: string | undefined): Record<string, unknown> {
  if (path === undefined) return {};
  const remedy = 'Give a file with the settings of the dialect as one JSON object.';
  let found: unknown;
  try {
    found = JSON.parse(readGivenFile(path, 'settings', remedy));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
  }
  const parsed = z.record(z.string(), z.unknown()).safeParse(found);
  if (parsed.success) return parsed.data;
  throw new ChambersideError('configuration-invalid', 'The settings are no JSON object', path, remedy);
}
