import { closeSync, copyFileSync, openSync, readFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import type Database from 'better-sqlite3';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { chunkDigest, readLinkBody, writeLinkBody } from '../../src/host/store/chain.ts';
import type { LinkBody } from '../../src/host/store/chain.ts';
import { sha256 } from '../../src/host/store/digest.ts';
import { verify } from '../../src/host/store/verify.ts';
import { alter as alterFile, flipped, makeStudy } from '../support/store/altered-study.ts';
import { independentlyVerify } from '../support/store/independent-verifier.ts';
import { temporaryFolder, trialName } from '../support/store/trial.ts';

/** Each test alters a copy. */
const folder = temporaryFolder();
const original = join(folder.path, 'original.chamberside');
const path = join(folder.path, 'altered.chamberside');

beforeAll(() => makeStudy(original));
afterAll(() => folder.remove());
beforeEach(() => copyFileSync(original, path));

const alter = (work: (file: Database.Database) => void): void => alterFile(path, work);

/** What is wrong, without the note that trial 4 is not sealed. */
function bad(): object[] {
  const report = verify(path);
  expect(report.intact).toBe(false);
  expect(report.notCovered.length).toBeGreaterThan(3);
  return report.findings.filter((finding) => finding.severity === 'bad');
}

const at = (trial: number, link: number, code: string): object =>
  expect.objectContaining({
    code,
    trial: trialName(trial),
    link,
    second: link - 1,
  }) as object;

describe('a forgery that recomputes digests', () => {
  /** Writes another body for a link, with the digest and the columns that fit it. */
  const forge = (
    file: Database.Database,
    trial: number,
    link: number,
    change: (body: LinkBody) => Partial<LinkBody>,
  ): void => {
    const row = file
      .prepare<[], { body: Buffer }>(`SELECT body FROM link WHERE trial = ${trial} AND link = ${link}`)
      .get();
    const old = readLinkBody(row?.body ?? Buffer.alloc(0));
    const next = { ...old, ...change(old) };
    const body = writeLinkBody(next);
    file
      .prepare(
        `UPDATE link SET body = ?, digest = ?, from_microseconds = ?, through_microseconds = ?
         WHERE trial = ${trial} AND link = ${link}`,
      )
      .run(body, sha256(body), next.fromMicroseconds, next.throughMicroseconds);
  };

  it('of one link breaks the chain at the next', () => {
    alter((file) => {
      file.exec('DELETE FROM event WHERE trial = 1 AND link = 6 AND position = 1');
      forge(file, 1, 6, (body) => ({ events: body.events.slice(0, 1) }));
    });
    expect(bad()).toEqual([at(1, 7, 'chain-broken')]);
  });

  it('of the last link differs from the seal', () => {
    alter((file) => {
      file.exec('DELETE FROM chunk WHERE trial = 2 AND link = 12 AND stream = 1');
      forge(file, 2, 12, (body) => ({ chunks: body.chunks.slice(0, 1) }));
    });
    expect(bad()).toEqual([expect.objectContaining({ code: 'head-differs', trial: trialName(2), link: 12 })]);
  });

  it('that adds a link to a sealed trial differs from the seal', () => {
    alter((file) => {
      const row = file
        .prepare<[], { body: Buffer; digest: Buffer }>('SELECT body, digest FROM link WHERE trial = 2 AND link = 12')
        .get();
      const last = readLinkBody(row?.body ?? Buffer.alloc(0));
      const body = writeLinkBody({
        ...last,
        link: 13,
        second: 12,
        fromMicroseconds: last.throughMicroseconds,
        throughMicroseconds: 13_000_000,
        previous: row?.digest ?? Buffer.alloc(32),
        chunks: [],
        wires: [],
        events: [],
      });
      file
        .prepare('INSERT INTO link VALUES (2, 13, ?, 13000000, ?, ?)')
        .run(last.throughMicroseconds, body, sha256(body));
    });
    expect(bad()).toEqual([expect.objectContaining({ code: 'head-differs', trial: trialName(2), link: 13 })]);
  });

  it('that leaves out time shows as broken time', () => {
    alter((file) => forge(file, 4, 14, (body) => ({ fromMicroseconds: body.fromMicroseconds + 5 })));
    expect(bad()).toContainEqual(
      expect.objectContaining({ code: 'time-broken', trial: trialName(4), link: 14, second: 31 }),
    );
  });

  it('of stored bytes shows in the values', () => {
    alter((file) => {
      const chunk = file
        .prepare<[], { blob: Buffer; content_digest: Buffer; encoding: string; count: number }>(
          'SELECT * FROM chunk WHERE trial = 4 AND link = 14 AND stream = 0',
        )
        .get();
      const blob = flipped(chunk?.blob ?? Buffer.alloc(0), 8 * 70);
      const digest = chunkDigest(
        chunk?.encoding ?? '',
        'none',
        chunk?.count ?? 0,
        chunk?.content_digest ?? Buffer.alloc(32),
        blob,
      );
      file
        .prepare('UPDATE chunk SET blob = ?, digest = ? WHERE trial = 4 AND link = 14 AND stream = 0')
        .run(blob, digest);
      forge(file, 4, 14, (body) => ({ chunks: [{ stream: 0, digest }, ...body.chunks.slice(1)] }));
    });
    expect(bad()).toEqual([
      expect.objectContaining({ code: 'values-differ', link: 14, stream: 'photometer/concentration' }),
    ]);
    expect(() => independentlyVerify(path)).toThrow('content of readings');
  });
});

describe('damage', () => {
  it('to the structure of the database is a finding, not a crash', () => {
    const bytes = readFileSync(path);
    const pageSize = bytes.readUInt16BE(16);
    let pages = 0;
    let found = 0;
    for (let page = 1; page < bytes.length / pageSize; page += 1) {
      pages += 1;
      copyFileSync(original, path);
      const file = openSync(path, 'r+');
      writeSync(file, Buffer.alloc(64, 0xff), 0, 64, page * pageSize);
      closeSync(file);
      if (!verify(path).intact) found += 1;
    }
    expect(pages).toBeGreaterThan(20);
    expect(found).toBe(pages);
  });

  it('by truncation is a finding', () => {
    const bytes = readFileSync(original);
    const file = openSync(path, 'w');
    writeSync(file, bytes, 0, Math.floor(bytes.length / 2));
    closeSync(file);
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'database-damaged' }));
  });
});
