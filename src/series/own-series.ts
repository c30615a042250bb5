import { ChambersideError } from '../model/error-code.ts';
import type { Series } from '../model/series.ts';
import { seriesEntrySchema } from '../model/series-entry.ts';
import { seriesFaults } from './faults.ts';

const remedy = 'Correct the named fields; docs/formats/series.md has them all.';

/**
 * A series of somebody's own, from data of unknown origin.
 * @param where the file that gave it, for the message.
 * @throws ChambersideError `configuration-invalid` that lists every field that is wrong, or what contradicts itself.
 */
export function parseSeries(data: unknown, where: string): Series {
  const result = seriesEntrySchema.safeParse(data);
  if (!result.success) {
    const lines = result.error.issues.map(
      ({ message, path }) => `${path.map(String).join('.') || 'series'}: ${message}`,
    );
    const what = `The series does not satisfy its schema: ${lines.join('; ')}`;
    throw new ChambersideError('configuration-invalid', what, where, remedy);
  }
  const faults = seriesFaults(result.data);
  if (faults.length > 0) {
    const what = `The series contradicts itself: ${faults.map((fault) => `${fault.path}: ${fault.what}`).join('; ')}`;
    throw new ChambersideError('configuration-invalid', what, where, remedy);
  }
  return result.data;
}
