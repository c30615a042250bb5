import { createHash } from 'node:crypto';
import { closeSync, mkdirSync, openSync, writeSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { stringify } from 'csv-stringify/sync';
import type { Resource } from './descriptor.ts';
import type { Field } from './tables.ts';

export type Value = string | number | boolean | null;

/** Rows that are turned into text at once. */
const rowsAtOnce = 20_000;

/**
 * Writes one table as RFC 4180 CSV in UTF-8: numbers in the shortest form that reads back to the same bits, nothing
 * for null.
 * @param folder of the package
 * @throws the system's errors of writing.
 */
export function writeTable(
  folder: string,
  table: { readonly path: string; readonly title: string; readonly fields: readonly Field[] },
  rows: Iterable<readonly Value[]>,
): Resource {
  const place = join(folder, ...table.path.split('/'));
  mkdirSync(dirname(place), { recursive: true });
  const file = openSync(place, 'wx');
  const digest = createHash('sha256');
  let bytes = 0;
  const write = (text: string): void => {
    const block = Buffer.from(text, 'utf8');
    digest.update(block);
    bytes += block.length;
    for (let written = 0; written < block.length; ) written += writeSync(file, block, written);
  };
  try {
    write(csvOf([table.fields.map(({ name }) => name)]));
    let waiting: (readonly Value[])[] = [];
    for (const row of rows) {
      waiting.push(row);
      if (waiting.length < rowsAtOnce) continue;
      write(csvOf(waiting));
      waiting = [];
    }
    if (waiting.length > 0) write(csvOf(waiting));
  } finally {
    closeSync(file);
  }
  return { ...table, bytes, digest: digest.digest('hex') };
}

function csvOf(rows: readonly (readonly Value[])[]): string {
  return stringify(rows as (readonly Value[])[], {
    record_delimiter: '\r\n',
    cast: { boolean: (value) => String(value), number: (value) => String(value) },
  });
}

/**
 * A text that people wrote, for a table that people open in a spreadsheet: what such a program would take for a formula
 * begins with an apostrophe. The same text stands unchanged in the configuration.
 */
export function plainText(text: string): string {
  return /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
}
