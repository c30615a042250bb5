import { copyFileSync, openSync, readFileSync, readSync, writeSync, closeSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { runCommandLine } from '../../src/host/cli/main.ts';
import { whatIsAltered } from '../../src/host/store/soundness.ts';
import { verify } from '../../src/host/store/verify.ts';
import { independentlyVerify } from '../support/store/independent-verifier.ts';
import { alter as alterFile, flipped, makeStudy } from '../support/store/altered-study.ts';
import { temporaryFolder, trialName } from '../support/store/trial.ts';

/** Each test alters a copy. */
const folder = temporaryFolder();
const original = join(folder.path, 'original.chamberside');
const path = join(folder.path, 'altered.chamberside');

beforeAll(() => makeStudy(original));
afterAll(() => folder.remove());
beforeEach(() => copyFileSync(original, path));

const alter = (work: (file: Database.Database) => void): void => alterFile(path, work);

/** Flips one bit of a blob column of one row. */
function flip(table: string, column: string, where: string, bit: (length: number) => number): void {
  alter((file) => {
    const row = file
      .prepare<[], { id: number; value: Buffer }>(`SELECT rowid AS id, ${column} AS value FROM ${table} WHERE ${where}`)
      .get();
    if (row === undefined) throw new Error(`no ${table} where ${where}`);
    file
      .prepare(`UPDATE ${table} SET ${column} = ? WHERE rowid = ?`)
      .run(flipped(row.value, bit(row.value.length * 8)), row.id);
  });
}

/** What is wrong, without the note that trial 4 is not sealed. */
function bad(): object[] {
  const report = verify(path);
  expect(report.intact).toBe(false);
  expect(report.notCovered.length).toBeGreaterThan(3);
  return report.findings.filter((finding) => finding.severity === 'bad');
}

const at = (trial: number, link: number, code: string, stream?: string): object =>
  expect.objectContaining({
    code,
    trial: trialName(trial),
    link,
    second: link - 1,
    ...(stream === undefined ? {} : { stream }),
  }) as object;

describe('the untouched file', () => {
  it('is intact for both verifiers', () => {
    expect(verify(path)).toMatchObject({
      intact: true,
      findings: [{ severity: 'note', code: 'unsealed', trial: trialName(4) }],
    });
    expect(independentlyVerify(path)).toMatchObject({ trials: 4, seals: 3 });
  });

  it('is still intact when its triggers were dropped and put back', () => {
    alter(() => undefined);
    expect(verify(path).intact).toBe(true);
  });
});

describe('a flipped bit', () => {
  const places: [string, (length: number) => number][] = [
    ['first', () => 0],
    ['middle', (length) => length >> 1],
    ['last', (length) => length - 1],
  ];

  it.each(places)('in readings (%s) is named by trial, second and stream', (_, bit) => {
    flip('chunk', 'blob', 'trial = 2 AND link = 5 AND stream = 1', bit);
    expect(bad()).toEqual([at(2, 5, 'chunk-altered', 'photometer/flow')]);
    expect(() => independentlyVerify(path)).toThrow();
  });

  it.each(['content_digest', 'digest'])('in the %s of readings', (column) => {
    flip('chunk', column, 'trial = 3 AND link = 12 AND stream = 0', () => 77);
    expect(bad()).toEqual([at(3, 12, 'chunk-altered', 'photometer/concentration')]);
  });

  it.each(places)('in wire bytes (%s)', (_, bit) => {
    flip('wire', 'blob', 'trial = 1 AND link = 6 AND instrument = 1 AND direction = 0', bit);
    expect(bad()).toEqual([at(1, 6, 'wire-altered', 'valve in')]);
    expect(() => independentlyVerify(path)).toThrow();
  });

  it.each(places)('in the body of a link (%s)', (_, bit) => {
    flip('link', 'body', 'trial = 1 AND link = 7', bit);
    expect(bad()).toContainEqual(at(1, 7, 'link-altered'));
    expect(() => independentlyVerify(path)).toThrow();
  });

  it('in the digest of a link', () => {
    flip('link', 'digest', 'trial = 1 AND link = 7', () => 3);
    expect(bad()).toEqual([at(1, 7, 'link-altered')]);
  });

  it('in the body of a seal', () => {
    flip('seal', 'body', 'seal = 2', (length) => length - 4);
    expect(bad()).toEqual([expect.objectContaining({ code: 'seal-altered', trial: trialName(2) })]);
  });

  it('in the raw file, wherever a chunk lies', () => {
    const needle = new Database(path, { readonly: true });
    const { blob } = needle
      .prepare<[], { blob: Buffer }>('SELECT blob FROM chunk WHERE trial = 2 AND link = 9 AND stream = 0')
      .get() ?? { blob: Buffer.alloc(0) };
    needle.close();
    // The trials hold equal readings one after the other, so the second place belongs to trial 2.
    const bytes = readFileSync(path);
    const position = bytes.indexOf(blob, bytes.indexOf(blob) + 1) + 100;
    expect(position).toBeGreaterThan(100);
    const file = openSync(path, 'r+');
    const byte = Buffer.alloc(1);
    readSync(file, byte, 0, 1, position);
    writeSync(file, flipped(byte, 5), 0, 1, position);
    closeSync(file);
    expect(bad()).toEqual([at(2, 9, 'chunk-altered', 'photometer/concentration')]);
  });
});

describe('something removed or added', () => {
  it('readings of a stream and second', () => {
    alter((file) => file.exec('DELETE FROM chunk WHERE trial = 2 AND link = 5 AND stream = 0'));
    expect(bad()).toEqual([at(2, 5, 'chunk-missing', 'photometer/concentration')]);
    expect(() => independentlyVerify(path)).toThrow();
  });

  it('wire bytes', () => {
    alter((file) => file.exec('DELETE FROM wire WHERE trial = 2 AND link = 6 AND instrument = 1 AND direction = 1'));
    expect(bad()).toEqual([at(2, 6, 'wire-missing', 'valve out')]);
  });

  it('an event', () => {
    alter((file) => file.exec('DELETE FROM event WHERE trial = 2 AND link = 6 AND position = 0'));
    expect(bad()).toEqual([at(2, 6, 'event-missing')]);
  });

  it('rows that no link covers', () => {
    alter((file) => {
      file.exec(
        `INSERT INTO chunk SELECT trial, link, 7, count, encoding, cipher, blob, content_digest, digest
         FROM chunk WHERE trial = 1 AND link = 2 AND stream = 0`,
      );
      file.exec(
        `INSERT INTO wire SELECT trial, link, instrument, 1, count, encoding, cipher, blob, digest
         FROM wire WHERE trial = 1 AND link = 3 AND instrument = 0`,
      );
      file.exec(
        `INSERT INTO event SELECT trial, 4, 0, at_microseconds, kind, json, digest
         FROM event WHERE trial = 1 AND link = 6 AND position = 0`,
      );
    });
    expect(bad()).toEqual([
      at(1, 2, 'chunk-added', 'stream 7'),
      at(1, 3, 'wire-added', 'photometer out'),
      at(1, 4, 'event-added'),
    ]);
  });

  it('a link in the middle, with all that belongs to it', () => {
    alter((file) => {
      for (const table of ['link', 'chunk', 'wire', 'event'])
        file.exec(`DELETE FROM ${table} WHERE trial = 2 AND link = 5`);
    });
    expect(bad()).toEqual([at(2, 5, 'link-missing')]);
  });

  it('the first link', () => {
    alter((file) => file.exec('DELETE FROM link WHERE trial = 2 AND link = 0'));
    expect(bad()).toEqual([expect.objectContaining({ code: 'link-missing', link: 0, trial: trialName(2) })]);
  });

  it.each([1, 5, 12])('the last %i links of a sealed trial', (count) => {
    alter((file) => {
      for (const table of ['link', 'chunk', 'wire', 'event'])
        file.exec(`DELETE FROM ${table} WHERE trial = 3 AND link > ${12 - count}`);
    });
    expect(bad()).toEqual([expect.objectContaining({ code: 'tail-cut', trial: trialName(3), link: 13 - count })]);
  });

  it('the last links of an unsealed trial alone, by what they leave behind', () => {
    alter((file) => file.exec('DELETE FROM link WHERE trial = 4 AND link = 14'));
    expect(bad().map((finding) => (finding as { code: string }).code)).toEqual(['chunk-added', 'wire-added']);
  });

  it('the whole tail of an unsealed trial cannot be proven, and the report says so', () => {
    alter((file) => {
      for (const table of ['link', 'chunk', 'wire', 'event'])
        file.exec(`DELETE FROM ${table} WHERE trial = 4 AND link > 9`);
    });
    const report = verify(path);
    expect(report.findings).toEqual([
      expect.objectContaining({ severity: 'note', code: 'unsealed', trial: trialName(4) }),
    ]);
    expect(report.notCovered.join(' ')).toContain('not sealed may have lost its end');
  });

  it('a seal alone', () => {
    alter((file) => file.exec('DELETE FROM seal WHERE seal = 1'));
    // By an assessment, which took the whole chain, trial 1 had come to its end.
    expect(bad()).toEqual([
      expect.objectContaining({ code: 'seal-missing', trial: null, text: expect.stringContaining('Seal 1') as string }),
      expect.objectContaining({
        code: 'seal-missing',
        trial: trialName(1),
        text: expect.stringMatching(/^The seal of this trial was removed/) as string,
      }),
    ]);
    expect(verify(path).findings).toContainEqual(expect.objectContaining({ code: 'unsealed', trial: trialName(4) }));
    expect(whatIsAltered(path, trialName(1))).toMatch(/^The seal of this trial was removed: .* And 1 more findings\.$/);
    expect(whatIsAltered(path, trialName(3))).toMatch(/^Seal 1 of the study is not there\. [^.]+ before /);
  });

  it('a seal, in words on the command line', async () => {
    alter((file) => file.exec('DELETE FROM seal WHERE seal = 1'));
    const lines: string[] = [];
    const output = { line: (text: string) => void lines.push(text), note: () => undefined, interactive: false };
    expect(await runCommandLine(['verify', '--study', path], output)).toBe(1);
    const said = (number: number): string => lines.find((line) => line.startsWith(`trial ${trialName(number)}`)) ?? '';
    expect(said(1)).toContain('SEAL REMOVED');
    expect(said(2)).toMatch(/ {2}sealed /);
    expect(said(4)).toContain('not sealed');
  });

  it('a seal of a trial of which nothing shows that it came to its end', () => {
    alter((file) => file.exec('DELETE FROM seal WHERE seal = 2'));
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'seal-missing', trial: null }));
    expect(verify(path).findings).toContainEqual(expect.objectContaining({ code: 'unsealed', trial: trialName(2) }));
  });

  it('an unsealed trial before others', () => {
    alter((file) => {
      file.exec(`INSERT INTO trial VALUES (6, '${trialName(6)}', '2026-01-05T08:00:00.000Z')`);
    });
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'trial-missing', trial: null }));
  });

  it('a frozen configuration', () => {
    alter((file) => file.exec("DELETE FROM frozen WHERE trial = 1 AND part = 'rig'"));
    expect(bad()).toEqual([
      expect.objectContaining({ code: 'frozen-missing', text: expect.stringContaining('rig') as string }),
    ]);
  });
});

describe('something altered', () => {
  it.each(['header', 'instruments', 'method', 'program', 'rig', 'segment', 'series', 'streams'])(
    'the frozen %s',
    (part) => {
      alter((file) =>
        file.exec(`UPDATE frozen SET json = replace(json, '"', '" ') WHERE trial = 3 AND part = '${part}'`),
      );
      expect(bad()).toContainEqual(
        expect.objectContaining({
          code: 'frozen-altered',
          trial: trialName(3),
          text: expect.stringContaining(part) as string,
        }),
      );
      expect(() => independentlyVerify(path)).toThrow();
    },
  );

  it('a number in the frozen rig, with a digest that fits', () => {
    alter((file) => {
      file.exec(`UPDATE frozen SET json = replace(json, '"saturation":100', '"saturation":101'),
        digest = (SELECT digest FROM frozen WHERE trial = 2 AND part = 'rig') WHERE trial = 3 AND part = 'rig'`);
    });
    expect(bad()).toEqual([expect.objectContaining({ code: 'frozen-altered', trial: trialName(3) })]);
  });

  it('an event', () => {
    alter((file) =>
      file.exec(
        `UPDATE event SET json = replace(json, '"port":1', '"port":3') WHERE trial = 1 AND link = 1 AND position = 1`,
      ),
    );
    expect(bad()).toEqual([at(1, 1, 'event-altered')]);
  });

  it('a column that repeats an event', () => {
    alter((file) => file.exec("UPDATE event SET kind = 'phase-changed' WHERE trial = 1 AND link = 6 AND position = 0"));
    expect(bad()).toEqual([at(1, 6, 'event-altered')]);
  });

  it('the times of a link', () => {
    alter((file) =>
      file.exec('UPDATE link SET from_microseconds = from_microseconds + 1 WHERE trial = 1 AND link = 4'),
    );
    expect(bad()).toEqual([at(1, 4, 'link-altered')]);
  });

  it('the order of two links', () => {
    alter((file) => {
      file.exec('UPDATE link SET link = 100 WHERE trial = 1 AND link = 4');
      file.exec('UPDATE link SET link = 4 WHERE trial = 1 AND link = 8');
      file.exec('UPDATE link SET link = 8 WHERE trial = 1 AND link = 100');
    });
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'link-misplaced', link: 4, trial: trialName(1) }));
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'link-misplaced', link: 8, trial: trialName(1) }));
  });

  it('readings exchanged between two seconds', () => {
    alter((file) => {
      const [one, other] = file
        .prepare<[], { rowid: number; blob: Buffer }>(
          'SELECT rowid, blob FROM chunk WHERE trial = 1 AND stream = 0 AND link IN (2, 3)',
        )
        .all();
      file.prepare('UPDATE chunk SET blob = ? WHERE rowid = ?').run(other?.blob, one?.rowid);
      file.prepare('UPDATE chunk SET blob = ? WHERE rowid = ?').run(one?.blob, other?.rowid);
    });
    expect(bad()).toEqual([at(1, 2, 'chunk-altered'), at(1, 3, 'chunk-altered')]);
  });

  it('the name of the study, and what the study row says of its seals', () => {
    alter((file) => file.exec("UPDATE study SET name = 'another'"));
    expect(bad()).toEqual([expect.objectContaining({ code: 'study-altered' })]);
    copyFileSync(original, path);
    flip('study', 'seal_head', 'only = 1', () => 9);
    expect(bad()).toEqual([expect.objectContaining({ code: 'study-altered' })]);
  });

  it('a seal that points elsewhere', () => {
    alter((file) => file.exec('UPDATE seal SET links = 12 WHERE seal = 3'));
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'seal-altered', trial: trialName(3) }));
  });

  it('an assessment, or the rows that repeat it', () => {
    alter((file) => file.exec(`UPDATE assessment SET json = replace(json, '0.25', '0.05')`));
    expect(bad()).toEqual([expect.objectContaining({ code: 'assessment-altered' })]);
    copyFileSync(original, path);
    alter((file) => file.exec('UPDATE cell SET window_percent = 0.05'));
    expect(bad()).toEqual([
      expect.objectContaining({ code: 'assessment-altered', text: expect.stringContaining('windowPercent') as string }),
    ]);
  });

  it('a trigger that is gone, or a table too many', () => {
    const file = new Database(path);
    file.exec('DROP TRIGGER chunk_update; CREATE TABLE extra (a)');
    file.close();
    expect(bad().map((finding) => (finding as { text: string }).text)).toEqual([
      'Not as it was created: trigger chunk_update.',
      'Not part of this version: table extra.',
    ]);
  });
});
