import type { StreamDescriptor } from '../../model/stream.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import { chunkDigest, eventDigest, readingsDigest, wireDigest } from './chain.ts';
import type { LinkBody } from './chain.ts';
import type { FindingCode, RecordedInstrument } from './contract.ts';
import type { Connection } from './database.ts';
import { equalBytes } from './digest.ts';
import { decodeReadings, decodeWire, noCipher, readingsEncoding, wireEncoding } from './encoding.ts';

/** Where a finding is. */
export interface Place {
  readonly link?: number | null;
  readonly second?: number | null;
  readonly stream?: string;
}
export type Report = (code: FindingCode, text: string, place?: Place) => void;

interface StoredRow {
  readonly count: number;
  readonly encoding: string;
  readonly cipher: string;
  readonly blob: Uint8Array;
  readonly digest: Uint8Array;
}

interface ChunkRow extends StoredRow {
  readonly stream: number;
  readonly content_digest: Uint8Array;
}

interface WireRow extends StoredRow {
  readonly instrument: number;
  readonly direction: number;
}

interface EventRow {
  readonly position: number;
  readonly at_microseconds: number;
  readonly kind: string;
  readonly json: string;
  readonly digest: Uint8Array;
}

/**
 * Compares what is stored for a link with what its body says was recorded.
 * @returns a function that checks one link and returns the times at which segments begin in it.
 */
export function contentChecker(connection: Connection, number: number, report: Report): (body: LinkBody) => number[] {
  const chunks = connection.prepare<[number, number], ChunkRow>(
    'SELECT * FROM chunk WHERE trial = ? AND link = ? ORDER BY stream',
  );
  const wires = connection.prepare<[number, number], WireRow>(
    'SELECT * FROM wire WHERE trial = ? AND link = ? ORDER BY instrument, direction',
  );
  const events = connection.prepare<[number, number], EventRow>(
    'SELECT * FROM event WHERE trial = ? AND link = ? ORDER BY position',
  );
  const streamNames = names<StreamDescriptor>(
    connection,
    number,
    'streams',
    (entry) => `${entry.instrument}/${entry.stream}`,
  );
  const instrumentNames = names<RecordedInstrument>(connection, number, 'instruments', (entry) => entry.instrument);

  return (body) => {
    const at = { link: body.link, second: body.second };
    const chunkRows = new Map(chunks.all(number, body.link).map((row) => [row.stream, row]));
    for (const { stream, digest } of body.chunks) {
      const name = streamNames[stream] ?? `stream ${stream}`;
      checkChunk(chunkRows.get(stream), digest, body, name, { ...at, stream: name }, report);
      chunkRows.delete(stream);
    }
    for (const stream of chunkRows.keys()) {
      const name = streamNames[stream] ?? `stream ${stream}`;
      report('chunk-added', `Readings of ${name} in second ${body.second} are not part of the chain.`, {
        ...at,
        stream: name,
      });
    }
    const wireRows = new Map(wires.all(number, body.link).map((row) => [row.instrument * 2 + row.direction, row]));
    for (const { instrument, direction, digest } of body.wires) {
      const name = wireName(instrumentNames, instrument, direction);
      checkWire(wireRows.get(instrument * 2 + direction), digest, body, name, { ...at, stream: name }, report);
      wireRows.delete(instrument * 2 + direction);
    }
    for (const row of wireRows.values()) {
      const name = wireName(instrumentNames, row.instrument, row.direction);
      report('wire-added', `Wire bytes of ${name} in second ${body.second} are not part of the chain.`, {
        ...at,
        stream: name,
      });
    }
    return checkEvents(events.all(number, body.link), body, at, report);
  };
}

function checkChunk(
  row: ChunkRow | undefined,
  digest: Uint8Array,
  body: LinkBody,
  name: string,
  at: Place,
  report: Report,
): void {
  const what = `Readings of ${name} in second ${body.second}`;
  if (row === undefined) return report('chunk-missing', `${what} are not there.`, at);
  const actual = chunkDigest(row.encoding, row.cipher, row.count, row.content_digest, row.blob);
  if (!equalBytes(actual, digest) || !equalBytes(row.digest, digest)) {
    return report('chunk-altered', `${what} are not what was recorded.`, at);
  }
  try {
    if (row.encoding !== readingsEncoding || row.cipher !== noCipher)
      throw new RangeError(`encoding ${row.encoding}, cipher ${row.cipher}`);
    const block = decodeReadings(row.blob, body.fromMicroseconds);
    if (block.times.length !== row.count || !equalBytes(readingsDigest(block), row.content_digest)) {
      report('values-differ', `${what} decode into other values than were recorded.`, at);
    }
  } catch (error) {
    report('values-differ', `${what} cannot be decoded: ${(error as Error).message}.`, at);
  }
}

function checkWire(
  row: WireRow | undefined,
  digest: Uint8Array,
  body: LinkBody,
  name: string,
  at: Place,
  report: Report,
): void {
  const what = `Wire bytes of ${name} in second ${body.second}`;
  if (row === undefined) return report('wire-missing', `${what} are not there.`, at);
  if (
    !equalBytes(wireDigest(row.encoding, row.cipher, row.count, row.blob), digest) ||
    !equalBytes(row.digest, digest)
  ) {
    return report('wire-altered', `${what} are not what was recorded.`, at);
  }
  try {
    if (row.encoding !== wireEncoding || row.cipher !== noCipher)
      throw new RangeError(`encoding ${row.encoding}, cipher ${row.cipher}`);
    if (decodeWire(row.blob, body.fromMicroseconds).length !== row.count)
      throw new RangeError('another number of reads');
  } catch (error) {
    report('values-differ', `${what} cannot be decoded: ${(error as Error).message}.`, at);
  }
}

function checkEvents(rows: readonly EventRow[], body: LinkBody, at: Place, report: Report): number[] {
  const segments: number[] = [];
  const byPosition = new Map(rows.map((row) => [row.position, row]));
  for (const [position, digest] of body.events.entries()) {
    const row = byPosition.get(position);
    const what = `Event ${position + 1} of second ${body.second}`;
    if (row === undefined) {
      report('event-missing', `${what} is not there.`, at);
      continue;
    }
    byPosition.delete(position);
    if (!equalBytes(eventDigest(row.json), digest) || !equalBytes(row.digest, digest)) {
      report('event-altered', `${what} (${row.kind}) is not what was recorded.`, at);
      continue;
    }
    const event = JSON.parse(row.json) as TrialEvent;
    if (event.kind !== row.kind || event.atMicroseconds !== row.at_microseconds) {
      report('event-altered', `${what}: its columns are not what was recorded.`, at);
    }
    if (event.kind === 'segment-began') segments.push(event.segment.beginsAtMicroseconds);
  }
  for (const row of byPosition.values()) {
    report('event-added', `An event (${row.kind}) in second ${body.second} is not part of the chain.`, at);
  }
  return segments;
}

function wireName(instruments: readonly string[], instrument: number, direction: number): string {
  return `${instruments[instrument] ?? `instrument ${instrument}`} ${direction === 0 ? 'in' : 'out'}`;
}

/** Names for messages; an altered configuration must not stop the check. */
function names<Entry>(connection: Connection, number: number, part: string, name: (entry: Entry) => string): string[] {
  const row = connection
    .prepare<[number, string], { json: string }>('SELECT json FROM frozen WHERE trial = ? AND part = ?')
    .get(number, part);
  try {
    return (JSON.parse(row?.json ?? '[]') as Entry[]).map(name);
  } catch {
    return [];
  }
}
