import Database from 'better-sqlite3';
import { blob, digest, f64, lengthFirst, must, number, string, text, u32, u64, u8 } from './independent-bytes.ts';
import type { Row } from './independent-bytes.ts';
import { walkSignatures } from './independent-signatures.ts';

interface Walked {
  trials: number;
  links: number;
  seals: number;
  readings: number;
  /** Absent where nothing is signed. */
  signatures?: number;
}

/**
 * A verifier of study files written from docs/formats/chain.md and docs/formats/study-file.md alone. It shares no
 * code with the program, builds every body from the tables instead of reading it, and stops at the first thing that
 * is wrong. @returns what it walked over. @throws Error that says what is wrong.
 */
export function independentlyVerify(path: string): Walked {
  const file = new Database(path, { readonly: true });
  try {
    return walk(file);
  } finally {
    file.close();
  }
}

function walk(file: Database.Database): Walked {
  const all = (sql: string, ...values: unknown[]): Row[] => file.prepare(sql).all(...values) as Row[];
  must(file.pragma('integrity_check', { simple: true }) === 'ok', 'integrity');
  const [study] = all('SELECT * FROM study');
  if (study === undefined) throw new Error('no study');
  const genesis = digest(
    string('chamberside study 1'),
    string(text(study, 'study')),
    string(text(study, 'name')),
    string(text(study, 'created_at')),
  );
  must(genesis.equals(blob(study, 'genesis')), 'genesis');

  const heads = new Map<string, { links: number; head: Buffer; virtual: boolean }>();
  const done: Walked = { trials: 0, links: 0, seals: 0, readings: 0 };
  for (const trial of all('SELECT * FROM trial ORDER BY number')) {
    const name = text(trial, 'trial');
    const row = number(trial, 'number');
    const frozen = all('SELECT * FROM frozen WHERE trial = ? ORDER BY part', row);
    let expected = Buffer.concat([
      string('chamberside trial 1'),
      string(name),
      genesis,
      u32(frozen.length),
      ...frozen.map((part) =>
        Buffer.concat([
          string(text(part, 'part')),
          digest(string('chamberside frozen 1'), string(text(part, 'part')), string(text(part, 'json'))),
        ]),
      ),
    ]);
    let head: Buffer = Buffer.alloc(0);
    let through = 0;
    const links = all('SELECT * FROM link WHERE trial = ? ORDER BY link', row);
    for (const [index, link] of links.entries()) {
      must(number(link, 'link') === index, `${name}: link ${index} is missing`);
      const from = number(link, 'from_microseconds');
      if (index > 0) {
        const chunks = all('SELECT * FROM chunk WHERE trial = ? AND link = ? ORDER BY stream', row, index);
        const wires = all('SELECT * FROM wire WHERE trial = ? AND link = ? ORDER BY instrument, direction', row, index);
        const events = all('SELECT * FROM event WHERE trial = ? AND link = ? ORDER BY position', row, index);
        const begins = events
          .map(
            (event) => JSON.parse(text(event, 'json')) as { kind: string; segment?: { beginsAtMicroseconds: number } },
          )
          .filter((event) => event.kind === 'segment-began')
          .map((event) => event.segment?.beginsAtMicroseconds);
        must(from === through || begins.includes(from), `${name}: time of link ${index}`);
        expected = Buffer.concat([
          string('chamberside link 1'),
          string(name),
          u64(index),
          u64(Math.floor(from / 1e6)),
          u64(from),
          u64(number(link, 'through_microseconds')),
          head,
          u32(chunks.length),
          ...chunks.map((chunk) => Buffer.concat([u32(number(chunk, 'stream')), chunkDigest(chunk, from)])),
          u32(wires.length),
          ...wires.map((wire) =>
            Buffer.concat([u32(number(wire, 'instrument')), u8(number(wire, 'direction')), wireDigest(wire, from)]),
          ),
          u32(events.length),
          ...events.map((event) => digest(string('chamberside event 1'), string(text(event, 'json')))),
        ]);
        for (const chunk of chunks) done.readings += number(chunk, 'count');
      }
      must(expected.equals(blob(link, 'body')), `${name}: body of link ${index}`);
      head = digest(expected);
      must(head.equals(blob(link, 'digest')), `${name}: digest of link ${index}`);
      through = number(link, 'through_microseconds');
      done.links += 1;
    }
    const header = frozen.find((part) => text(part, 'part') === 'header');
    const { virtual = false } = JSON.parse(header === undefined ? '{}' : text(header, 'json')) as { virtual?: boolean };
    heads.set(name, { links: links.length, head, virtual });
    done.trials += 1;
  }

  const seals = new Map<string, { number: number; digest: string }>();
  let previous = genesis;
  for (const seal of all('SELECT * FROM seal ORDER BY seal')) {
    done.seals += 1;
    must(number(seal, 'seal') === done.seals, `seal ${done.seals} is missing`);
    const sealed = heads.get(text(seal, 'trial'));
    if (sealed === undefined) throw new Error(`trial ${text(seal, 'trial')} is missing`);
    const body = Buffer.concat([
      string('chamberside seal 1'),
      string(text(study, 'study')),
      u64(done.seals),
      previous,
      string(text(seal, 'trial')),
      u64(sealed.links),
      sealed.head,
      string(text(seal, 'sealed_at')),
    ]);
    must(body.equals(blob(seal, 'body')), `body of seal ${done.seals}`);
    previous = digest(body);
    must(previous.equals(blob(seal, 'digest')), `digest of seal ${done.seals}`);
    seals.set(text(seal, 'trial'), { number: done.seals, digest: previous.toString('hex') });
  }
  must(done.seals === number(study, 'seal_count') && previous.equals(blob(study, 'seal_head')), 'the last seal');
  for (const assessment of all('SELECT * FROM assessment')) {
    const expected = digest(string('chamberside assessment 1'), string(text(assessment, 'json')));
    must(expected.equals(blob(assessment, 'digest')), 'assessment');
  }
  const signatures = walkSignatures(all, study, { genesis, heads, seals });
  return signatures === 0 ? done : { ...done, signatures };
}

/** Reads varints one after the other. */
class Cursor {
  at = 0;
  readonly bytes: Buffer;

  constructor(bytes: Buffer) {
    this.bytes = bytes;
  }

  unsigned(): number {
    let value = 0n;
    for (let shift = 0n; ; shift += 7n) {
      const byte = this.bytes.readUInt8(this.at);
      this.at += 1;
      value |= BigInt(byte & 0x7f) << shift;
      if (byte < 0x80) return Number(value);
    }
  }

  signed(): number {
    const value = this.unsigned();
    return value % 2 === 0 ? value / 2 : -(value + 1) / 2;
  }
}

function chunkDigest(row: Row, from: number): Buffer {
  must(text(row, 'encoding') === 'readings/1' && text(row, 'cipher') === 'none', 'encoding');
  const bytes = blob(row, 'blob');
  const count = bytes.readUInt32LE(0);
  must(count === number(row, 'count'), 'count of readings');
  const cursor = new Cursor(bytes);
  cursor.at = 4;
  const times: Buffer[] = [];
  let time = from;
  for (let index = 0; index < count; index += 1) times.push(f64((time += cursor.signed())));
  const values: Buffer[] = [];
  for (let index = 0; index < count; index += 1) values.push(f64(bytes.readDoubleLE(cursor.at + index * 8)));
  must(cursor.at + count * 8 === bytes.length, 'length of readings');
  const content = digest(string('chamberside readings 1'), u32(count), ...times, ...values);
  must(content.equals(blob(row, 'content_digest')), 'content of readings');
  return digest(
    string('chamberside chunk 1'),
    string('readings/1'),
    string('none'),
    u32(count),
    content,
    lengthFirst(bytes),
  );
}

function wireDigest(row: Row, from: number): Buffer {
  must(text(row, 'encoding') === 'wire/1' && text(row, 'cipher') === 'none', 'encoding');
  const bytes = blob(row, 'blob');
  const count = bytes.readUInt32LE(0);
  must(count === number(row, 'count'), 'count of reads');
  const cursor = new Cursor(bytes);
  cursor.at = 4;
  for (let index = 0, time = from; index < count; index += 1) {
    time += cursor.signed();
    must(time >= 0, 'time of a read');
    const length = cursor.unsigned();
    cursor.at += length;
  }
  must(cursor.at === bytes.length, 'length of reads');
  return digest(string('chamberside wire 1'), string('wire/1'), string('none'), u32(count), lengthFirst(bytes));
}
