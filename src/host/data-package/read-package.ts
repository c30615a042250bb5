import { join } from 'node:path';
import { z } from 'zod';
import { slugSchema } from '../../model/identity.ts';
import { methodSchema, type Method } from '../../model/method.ts';
import { rigSchema } from '../../model/rig.ts';
import { seriesSchema } from '../../model/series.ts';
import { streamDescriptorSchema } from '../../model/stream.ts';
import { timeSegmentSchema } from '../../model/time.ts';
import { trialEventSchema, trialHeaderSchema, type TrialEvent } from '../../model/trial-event.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import type { RecordedInstrument, WireRecord } from '../store/contract.ts';
import { descriptorSchema, type ReadDescriptor } from './descriptor.ts';
import { badValue, bytesOf, decimal, importInvalid, readTable, trialTime, type Row } from './read-table.ts';
import {
  configurationFields,
  configurationParts,
  eventFields,
  fileNames,
  readingFields,
  trialFields,
  voidingFields,
  wireFields,
  type ConfigurationPart,
} from './tables.ts';

/** A trial as a package holds it. */
export interface PackagedTrial {
  readonly record: TrialRecord;
  readonly method: Method;
  readonly instruments: readonly RecordedInstrument[];
  readonly wire: readonly WireRecord[];
  /** Digest of the last link of the chain in which it was recorded. */
  readonly head: string;
  /** Whether it was void where it was recorded. */
  readonly wasVoid: boolean;
}

const instrumentSchema = z.object({
  instrument: slugSchema,
  kind: z.string().max(40),
  dialect: z.string().max(40),
  connection: z.string().max(300),
});

const partSchemas: Readonly<Record<ConfigurationPart, z.ZodType>> = {
  header: trialHeaderSchema,
  rig: rigSchema,
  series: seriesSchema,
  method: methodSchema,
  streams: z.array(streamDescriptorSchema).max(256),
  instruments: z.array(instrumentSchema).max(64),
  segments: z.array(timeSegmentSchema).min(1).max(10_000),
};

/**
 * Everything in a package, checked: sizes, digests, columns, every value, and that the parts of a trial fit together.
 * @throws ChambersideError `import-invalid` with file, line and column, what is wrong and what to do.
 */
export function readPackage(folder: string): readonly PackagedTrial[] {
  const descriptor = readDescriptor(folder);
  const trials = readTable(folder, descriptor, fileNames.trials, trialFields);
  const configuration = readTable(folder, descriptor, fileNames.configuration, configurationFields);
  // Packages of earlier versions have no such table.
  const hasVoidings = descriptor.resources.some(({ path }) => path === fileNames.voidings);
  const voidings = hasVoidings ? readTable(folder, descriptor, fileNames.voidings, voidingFields) : [];
  const seen = new Set<string>();
  return trials.map((row) => {
    const trial = row.values['trial'] ?? '';
    if (!/^t-[0-9a-z]{12}$/.test(trial)) throw badValue(fileNames.trials, row.line, 'trial', trial, 'a trial');
    if (seen.has(trial)) throw badValue(fileNames.trials, row.line, 'trial', trial, 'a trial that is there once');
    seen.add(trial);
    if (row.values['intact'] !== 'true') {
      const what = `${trial} was not what was recorded when it was exported`;
      throw importInvalid(what, `${fileNames.trials} line ${row.line}`, 'Export it from a study that verifies.');
    }
    const newest = voidings.filter(({ values }) => values['trial'] === trial).at(-1);
    const wasVoid = newest?.values['decision'] === 'void';
    return { ...readTrial(folder, descriptor, trial, row, configuration), wasVoid };
  });
}

function readDescriptor(folder: string): ReadDescriptor {
  const remedy = 'Give the folder that chamberside export has made.';
  const text = bytesOf(join(folder, fileNames.descriptor), fileNames.descriptor).toString('utf8');
  let content: unknown;
  try {
    content = JSON.parse(text);
  } catch (error) {
    throw importInvalid(`It is not JSON: ${(error as Error).message}`, fileNames.descriptor, remedy, error);
  }
  const read = descriptorSchema.safeParse(content);
  if (read.success) return read.data;
  const [issue] = read.error.issues;
  const where = `${fileNames.descriptor}, ${issue?.path.map(String).join('.') ?? ''}`;
  throw importInvalid(issue?.message ?? 'It is not a package of this program', where, remedy, read.error);
}

function readTrial(
  folder: string,
  descriptor: ReadDescriptor,
  trial: string,
  row: Row,
  configuration: readonly Row[],
): Omit<PackagedTrial, 'wasVoid'> {
  const parts = Object.fromEntries(
    configurationParts.map((part) => [part, partOf(configuration, trial, part)]),
  ) as Record<ConfigurationPart, unknown>;
  const header = parts.header as TrialRecord['header'];
  const file = fileNames.configuration;
  if (header.trial !== trial) throw importInvalid(`The header is that of ${header.trial}`, `${file}, ${trial}`, again);
  if (String(header.virtual) !== row.values['virtual']) {
    const what = `${trial} is ${header.virtual ? 'virtual' : 'real'} by its header, and not by the list of trials`;
    throw importInvalid(what, `${fileNames.trials} line ${row.line}, column virtual`, again);
  }
  const segments = parts.segments as TrialRecord['segments'];
  segments.forEach((segment, index) => {
    const before = segments[index - 1]?.beginsAtMicroseconds ?? -1;
    if (segment.segment !== index || segment.beginsAtMicroseconds <= before) {
      throw importInvalid('The segments of time are not in order', `${file}, ${trial}, segments ${index}`, again);
    }
  });
  const streams = (parts.streams as TrialRecord['streams'][number]['descriptor'][]).map((stream) => {
    const path = fileNames.readings(trial, stream.instrument, stream.stream);
    const rows = readTable(folder, descriptor, path, readingFields(stream.unit));
    const atMicroseconds = Float64Array.from(rows, (one) => trialTime(path, one, 'time_us'));
    const values = Float64Array.from(rows, (one) => decimal(path, one, 'value'));
    return { descriptor: stream, atMicroseconds, values };
  });
  const instruments = parts.instruments as RecordedInstrument[];
  return {
    record: {
      ...{ header, rig: parts.rig as TrialRecord['rig'], series: parts.series as TrialRecord['series'] },
      ...{ segments, streams, events: eventsOf(folder, descriptor, trial, segments.length) },
    },
    method: parts.method as Method,
    instruments,
    wire: wireOf(folder, descriptor, trial, instruments),
    head: row.values['head'] ?? '',
  };
}

const again = 'Have the package exported again, or copied again without changes.';

/** As it was frozen, to the letter: the schema only says whether it can be. */
function partOf(configuration: readonly Row[], trial: string, part: ConfigurationPart): unknown {
  const path = fileNames.configuration;
  const rows = configuration.filter(({ values }) => values['trial'] === trial && values['part'] === part);
  const [row] = rows;
  if (row === undefined || rows.length > 1) {
    throw importInvalid(`${part} of ${trial} is there ${rows.length} times`, path, again);
  }
  return jsonOf(path, row, partSchemas[part]);
}

function jsonOf(path: string, { line, values }: Row, schema: z.ZodType): unknown {
  const where = `${path} line ${line}, column json`;
  let content: unknown;
  try {
    content = JSON.parse(values['json'] ?? '');
  } catch (error) {
    throw importInvalid(`It is not JSON: ${(error as Error).message}`, where, again, error);
  }
  const read = schema.safeParse(content);
  if (read.success) return content;
  const [issue] = read.error.issues;
  const field = issue?.path.map(String).join('.') ?? '';
  throw importInvalid(`${issue?.message ?? 'not of the form'}${field === '' ? '' : ` (${field})`}`, where, again);
}

function eventsOf(folder: string, descriptor: ReadDescriptor, trial: string, segments: number): TrialEvent[] {
  const path = fileNames.events(trial);
  const rows = readTable(folder, descriptor, path, eventFields);
  let begun = 0;
  const events = rows.map((row) => {
    const event = jsonOf(path, row, trialEventSchema) as TrialEvent;
    if (event.kind !== row.values['kind']) {
      throw badValue(path, row.line, 'kind', row.values['kind'] ?? '', `the kind of its event, ${event.kind}`);
    }
    if (event.atMicroseconds !== trialTime(path, row, 'time_us')) {
      const expected = `the time of its event, ${event.atMicroseconds}`;
      throw badValue(path, row.line, 'time_us', row.values['time_us'] ?? '', expected);
    }
    if (event.kind === 'segment-began') begun += 1;
    return event;
  });
  if (begun !== segments) {
    throw importInvalid(`${begun} segments of time begin; the configuration has ${segments}`, path, again);
  }
  return events;
}

function wireOf(
  folder: string,
  descriptor: ReadDescriptor,
  trial: string,
  instruments: readonly RecordedInstrument[],
): WireRecord[] {
  const path = fileNames.wire(trial);
  return readTable(folder, descriptor, path, wireFields).map((row) => {
    const { instrument = '', direction = '', bytes = '' } = row.values;
    if (!instruments.some((one) => one.instrument === instrument)) {
      throw badValue(path, row.line, 'instrument', instrument, 'an instrument of the trial');
    }
    if (direction !== 'in' && direction !== 'out') throw badValue(path, row.line, 'direction', direction, 'in or out');
    if (!/^(?:[0-9a-f]{2})*$/.test(bytes)) throw badValue(path, row.line, 'bytes', bytes, 'hexadecimal');
    const atMicroseconds = trialTime(path, row, 'time_us');
    return { instrument, direction, atMicroseconds, bytes: Uint8Array.from(Buffer.from(bytes, 'hex')) };
  });
}
