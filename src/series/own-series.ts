import { ChambersideError } from '../model/error-code.ts';
import { seriesSchema } from '../model/series.ts';
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

/** The same content, whatever the order of the members and whatever the version. */
export function sameSeries(one: Series, other: Series): boolean {
  const plain = (series: Series): string => JSON.stringify(seriesSchema.parse({ ...series, version: 1 }));
  return plain(one) === plain(other);
}

/** A name as a reader tells it from others: without regard to capitals, kinds of letters and blanks. */
export function foldedName(name: string): string {
  return name.normalize('NFKC').trim().replace(/\s+/g, ' ').toLowerCase();
}

/**
 * Under which version a series is kept, by the one rule for screen and command line: its own where that is above every
 * version of the name, so that it is the same in two laboratories, and the next one otherwise. What is there already,
 * as that version or as the newest, is kept no second time.
 * @param newest of the laboratory under this name. @param sameVersion the one of the version that the series names.
 */
export function versionToKeep(
  series: Series,
  newest: Series | null,
  sameVersion: Series | null,
): { readonly version: number; readonly isThere: boolean } {
  if (sameVersion !== null && sameSeries(sameVersion, series)) return { version: series.version, isThere: true };
  if (newest === null || series.version > newest.version) return { version: series.version, isThere: false };
  if (sameSeries(newest, series)) return { version: newest.version, isThere: true };
  return { version: newest.version + 1, isThere: false };
}
