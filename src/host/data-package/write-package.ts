import { mkdirSync, readdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import { fileSystemError, isFileSystemFailure, nameTooLong } from '../file-error.ts';
import { countingAssessment } from '../store/assessments.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import type { TrialSummary, WireRecord } from '../store/contract.ts';
import { readInstruments, readPlannedMethod, readStudyOverview, readTrial, readWire } from '../store/read.ts';
import { readVoidings } from '../store/voidings.ts';
import { descriptorOf, type Resource } from './descriptor.ts';
import { plainText, writeTable, type Value } from './table-file.ts';
import {
  assessmentFields,
  cellFields,
  configurationFields,
  eventFields,
  fileNames,
  readingFields,
  trialFields,
  voidingFields,
  wireFields,
} from './tables.ts';

export interface ExportOptions {
  readonly study: string;
  /** Sealed trials of the study, in its order. */
  readonly trials: readonly TrialSummary[];
  /** New, or empty. */
  readonly folder: string;
  readonly program: string;
  /** ISO 8601 in UTC. */
  readonly createdAt: string;
  /** Whether a trial is what was recorded. */
  readonly isIntact: (trial: string) => boolean;
  /** Told of each trial before it is written. */
  readonly onTrial: (trial: string, number: number, all: number) => void;
}

export interface ExportResult {
  readonly folder: string;
  readonly files: number;
  readonly bytes: number;
}

/**
 * Writes trials as a Tabular Data Package. The folder is there whole or not at all.
 * @throws ChambersideError `file-exists` where the folder holds anything, or cannot be looked into; the store's and the
 * disk's.
 */
export function writePackage(options: ExportOptions): ExportResult {
  const folder = resolve(options.folder);
  if (!isFree(folder)) {
    const remedy = 'Give a folder that does not exist yet, or an empty one.';
    throw new ChambersideError('file-exists', 'The folder holds something already', folder, remedy);
  }
  const making = `${folder}.part`;
  try {
    rmSync(making, { recursive: true, force: true });
    mkdirSync(making, { recursive: true });
    const resources = writeTables(making, options);
    const { study } = readStudyOverview(options.study);
    const { program, createdAt, trials } = options;
    const about = { study, program, createdAt, virtual: trials.some(({ header }) => header.virtual) };
    const descriptor = `${JSON.stringify(descriptorOf(about, resources), null, 2)}\n`;
    writeFileSync(join(making, fileNames.descriptor), descriptor, { flag: 'wx' });
    rmSync(folder, { recursive: true, force: true });
    renameSync(making, folder);
    const bytes = resources.reduce((sum, resource) => sum + resource.bytes, Buffer.byteLength(descriptor));
    return { folder, files: resources.length + 1, bytes };
  } catch (error) {
    rmSync(making, { recursive: true, force: true });
    throw isFileSystemFailure(error) ? fileSystemError(error, folder) : error;
  }
}

function isFree(folder: string): boolean {
  try {
    return readdirSync(folder).length === 0;
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENAMETOOLONG') throw nameTooLong(folder, error);
    return code === 'ENOENT';
  }
}

function writeTables(folder: string, options: ExportOptions): Resource[] {
  const { study, trials } = options;
  const trialRows: Value[][] = [];
  const cellRows: Value[][] = [];
  const assessmentRows: Value[][] = [];
  const configurationRows: Value[][] = [];
  const voidingRows: Value[][] = [];
  const large: Resource[] = [];
  trials.forEach((summary, index) => {
    const { trial, header, sealed } = summary;
    options.onTrial(trial, index + 1, trials.length);
    const names = [header.subject, header.ensemble, header.operator].map(plainText);
    const seal = [sealed?.at ?? null, sealed?.head ?? null, sealed?.count ?? null];
    trialRows.push([trial, ...names, header.virtual, ...seal, options.isIntact(trial)]);
    const stored = countingAssessment(study, trial);
    if (stored !== null) {
      cellRows.push(...cellsOf(stored));
      assessmentRows.push(assessmentRow(stored));
    }
    for (const { decision, createdAt, person, reason } of readVoidings(study, trial)) {
      voidingRows.push([trial, decision, createdAt, plainText(person), plainText(reason)]);
    }
    const record = readTrial(study, trial);
    const parts = {
      ...{ header, rig: record.rig, series: record.series, method: readPlannedMethod(study, trial) },
      ...{ streams: record.streams.map(({ descriptor }) => descriptor), instruments: readInstruments(study, trial) },
      segments: record.segments,
    };
    for (const [part, value] of Object.entries(parts)) configurationRows.push([trial, part, JSON.stringify(value)]);
    const events = { path: fileNames.events(trial), title: `Events of ${trial}`, fields: eventFields };
    large.push(
      writeTable(
        folder,
        events,
        record.events.map((event) => [event.atMicroseconds, event.kind, JSON.stringify(event)]),
      ),
    );
    for (const { descriptor, atMicroseconds, values } of record.streams) {
      const { instrument, stream, unit } = descriptor;
      const path = fileNames.readings(trial, instrument, stream);
      const table = { path, title: `Readings of ${instrument}, ${stream}`, fields: readingFields(unit) };
      large.push(writeTable(folder, table, pairs(atMicroseconds, values)));
    }
    const wire = { path: fileNames.wire(trial), title: `Wire bytes of ${trial}`, fields: wireFields };
    large.push(writeTable(folder, wire, wireRows(readWire(study, trial))));
  });
  const small = [
    writeTable(folder, { path: fileNames.trials, title: 'Trials', fields: trialFields }, trialRows),
    writeTable(folder, { path: fileNames.cells, title: 'Inward leakage', fields: cellFields }, cellRows),
    writeTable(
      folder,
      { path: fileNames.assessments, title: 'Assessments', fields: assessmentFields },
      assessmentRows,
    ),
    writeTable(
      folder,
      { path: fileNames.configuration, title: 'Configuration', fields: configurationFields },
      configurationRows,
    ),
    writeTable(folder, { path: fileNames.voidings, title: 'Made void', fields: voidingFields }, voidingRows),
  ];
  return [...small, ...large];
}

function* pairs(times: Float64Array, values: Float64Array): Iterable<readonly Value[]> {
  for (let index = 0; index < times.length; index += 1) yield [times[index] ?? 0, values[index] ?? 0];
}

function* wireRows(records: readonly WireRecord[]): Iterable<readonly Value[]> {
  for (const { atMicroseconds, instrument, direction, bytes } of records) {
    yield [atMicroseconds, instrument, direction, Buffer.from(bytes).toString('hex')];
  }
}

/** By whom and by what the cells were made. */
function assessmentRow({ assessment, createdAt, method, program, review, trial }: AssessmentDocument): Value[] {
  const who = review === undefined ? [null, null] : [plainText(review.person), plainText(review.reason)];
  const left = JSON.stringify(review?.leftOut ?? []);
  return [trial, assessment, createdAt, program, JSON.stringify(method), ...who, left];
}

/** A row for each cell. */
function cellsOf(stored: AssessmentDocument): Value[][] {
  const { assessment, method, program, trial } = stored;
  return stored.cells.map((cell) => {
    const known = cell as unknown as Readonly<Record<string, unknown>>;
    const number = (name: string): number | null => {
      const value = known[name];
      return typeof value === 'number' ? value : null;
    };
    return [
      ...[trial, assessment, plainText(method.name), method.version, program, cell.exercise, cell.probe],
      ...['windowPercent', 'windowLowPercent', 'windowHighPercent'].map(number),
      ...['exercisePercent', 'exerciseLowPercent', 'exerciseHighPercent', 'detectionLimitPercent'].map(number),
      cell.flags.join(' '),
    ];
  });
}
