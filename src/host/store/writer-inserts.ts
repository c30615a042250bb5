import type { Connection, Statement } from './database.ts';

type Insert = 'trial' | 'frozen' | 'link' | 'chunk' | 'wire' | 'event' | 'seal' | 'sealHead' | 'moveSealHead';
export type Inserts = Readonly<Record<Insert, Statement<unknown[], unknown>>>;

/** What the writer writes with, of one connection. */
export function prepareInserts(connection: Connection): Inserts {
  return {
    trial: connection.prepare('INSERT INTO trial (trial, created_at) VALUES (?, ?)'),
    frozen: connection.prepare('INSERT INTO frozen (trial, part, json, digest) VALUES (?, ?, ?, ?)'),
    link: connection.prepare(
      'INSERT INTO link (trial, link, from_microseconds, through_microseconds, body, digest) VALUES (?, ?, ?, ?, ?, ?)',
    ),
    chunk: connection.prepare(
      `INSERT INTO chunk (trial, link, stream, count, encoding, cipher, blob, content_digest, digest)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    ),
    wire: connection.prepare(
      `INSERT INTO wire (trial, link, instrument, direction, count, encoding, cipher, blob, digest)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    ),
    event: connection.prepare(
      'INSERT INTO event (trial, link, position, at_microseconds, kind, json, digest) VALUES (?, ?, ?, ?, ?, ?, ?)',
    ),
    seal: connection.prepare(
      'INSERT INTO seal (seal, trial, links, head, sealed_at, body, digest) VALUES (?, ?, ?, ?, ?, ?, ?)',
    ),
    sealHead: connection.prepare('SELECT seal_count, seal_head FROM study'),
    moveSealHead: connection.prepare('UPDATE study SET seal_count = ?, seal_head = ?'),
  };
}
