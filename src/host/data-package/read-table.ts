import { createHash } from 'node:crypto';
import { lstatSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { CsvError, parse } from 'csv-parse/sync';
import { ChambersideError } from '../../model/error-code.ts';
import type { ReadDescriptor } from './descriptor.ts';
import type { Field } from './tables.ts';

/** One row with where it stands, for whoever finds fault with it. */
export interface Row {
  readonly line: number;
  readonly values: Readonly<Record<string, string>>;
}

/** The largest file that is read, bytes: an hour of 1000 readings a second is a tenth of it. */
const mostBytes = 1_000_000_000;

export function importInvalid(what: string, where: string, remedy: string, cause?: unknown): ChambersideError {
  return new ChambersideError('import-invalid', what, where, remedy, cause);
}

const exportAgain = 'Have the package exported again, or copied again without changes.';

/**
 * Reads one file of a package after its size and digest have been held against the descriptor.
 * @param fields the columns that it must have, in this order.
 * @throws ChambersideError `import-invalid` with file, line and column.
 */
export function readTable(
  folder: string,
  descriptor: ReadDescriptor,
  path: string,
  fields: readonly Field[],
): readonly Row[] {
  const resource = descriptor.resources.find((one) => one.path === path);
  if (resource === undefined) throw importInvalid('The package does not list this file', path, exportAgain);
  const text = wholeFile(folder, path, resource.bytes, resource.hash);
  const rows: Row[] = [];
  let names: readonly string[] | null = null;
  for (const { record, info } of parsed(text, path)) {
    if (names === null) {
      names = record;
      const expected = fields.map(({ name }) => name);
      if (record.join() !== expected.join()) {
        const what = `The columns are ${record.join(', ')}; they should be ${expected.join(', ')}`;
        throw importInvalid(what, `${path} line 1`, exportAgain);
      }
      continue;
    }
    const values = Object.fromEntries(fields.map(({ name }, at) => [name, record[at] ?? '']));
    rows.push({ line: info.lines, values });
  }
  if (names === null) throw importInvalid('The file has no header', path, exportAgain);
  return rows;
}

interface Parsed {
  readonly record: readonly string[];
  readonly info: { readonly lines: number };
}

function parsed(text: string, path: string): readonly Parsed[] {
  try {
    return parse(text, { info: true, bom: true, record_delimiter: ['\r\n', '\n'] }) as unknown as Parsed[];
  } catch (error) {
    if (!(error instanceof CsvError)) throw error;
    const line = typeof error['lines'] === 'number' ? ` line ${error['lines']}` : '';
    throw importInvalid(`It is not the CSV that it says: ${error.message}`, `${path}${line}`, exportAgain, error);
  }
}

function wholeFile(folder: string, path: string, bytes: number, hash: string): string {
  const place = join(folder, ...path.split('/'));
  const content = bytesOf(place, path);
  if (content.length !== bytes) {
    throw importInvalid(`It has ${content.length} bytes; the package says ${bytes}`, path, exportAgain);
  }
  const digest = `sha256:${createHash('sha256').update(content).digest('hex')}`;
  if (digest !== hash) throw importInvalid('It is not what was exported: its digest differs', path, exportAgain);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(content);
  } catch (error) {
    throw importInvalid('It is not UTF-8 text', path, exportAgain, error);
  }
}

/** A plain file: a link could lead anywhere. */
export function bytesOf(place: string, path: string): Buffer {
  try {
    const about = lstatSync(place);
    if (!about.isFile()) throw importInvalid('It is no plain file', path, exportAgain);
    const tooLarge = `It is larger than ${mostBytes} bytes`;
    if (about.size > mostBytes) throw importInvalid(tooLarge, path, 'Export fewer trials.');
    return readFileSync(place);
  } catch (error) {
    if (error instanceof ChambersideError) throw error;
    throw importInvalid(`It cannot be read: ${(error as Error).message}`, path, exportAgain, error);
  }
}

/** No trial lasts longer than ten days, µs. */
const longestMicroseconds = 10 * 86_400 * 1_000_000;

/** @throws ChambersideError `import-invalid` unless the text is a time within a trial, whole microseconds. */
export function trialTime(path: string, { line, values }: Row, column: string): number {
  const text = values[column] ?? '';
  const value = /^(?:0|[1-9][0-9]{0,14})$/.test(text) ? Number(text) : Number.NaN;
  if (value <= longestMicroseconds) return value;
  throw badValue(path, line, column, text, 'a time of a trial in whole microseconds, up to ten days');
}

/** @throws ChambersideError `import-invalid` unless the text is a finite number as programs write it. */
export function decimal(path: string, { line, values }: Row, column: string): number {
  const text = values[column] ?? '';
  const value = /^-?[0-9]+(?:\.[0-9]+)?(?:e[+-]?[0-9]+)?$/i.test(text) ? Number(text) : Number.NaN;
  if (Number.isFinite(value)) return value;
  throw badValue(path, line, column, text, 'a number with a point as its decimal sign');
}

export function badValue(path: string, line: number, column: string, text: string, expected: string): ChambersideError {
  const shown = JSON.stringify(text.length > 40 ? `${text.slice(0, 40)}…` : text);
  return importInvalid(`${shown} is not ${expected}`, `${path} line ${line}, column ${column}`, exportAgain);
}
