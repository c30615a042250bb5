import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { CommitFailure, StudyRecorder, TrialRecorder } from '../../src/host/store/contract.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { isStorageFailure, storageError } from '../../src/host/store/database.ts';
import { OpenTrial } from '../../src/host/store/open-trial.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { verify } from '../../src/host/store/verify.ts';
import { createStudy } from '../../src/host/store/create-study.ts';
import { StudyWriter } from '../../src/host/store/writer.ts';
import type { ChambersideError } from '../../src/model/error-code.ts';
import { independentlyVerify } from '../support/store/independent-verifier.ts';
import { definition, host, recordSecond, segment, temporaryFolder, trialName } from '../support/store/trial.ts';

let folder = temporaryFolder();
let path = '';
const opened: StudyRecorder[] = [];
beforeEach(() => {
  folder = temporaryFolder();
  path = join(folder.path, 'study.chamberside');
});
afterEach(async () => {
  for (const study of opened.splice(0)) await study.close().catch(() => undefined);
  folder.remove();
});

const refusal = (code: string): unknown => expect.objectContaining({ code });

async function open(onFailure?: (failure: CommitFailure) => void): Promise<StudyRecorder> {
  const study = await openStudyForRecording({
    path,
    create: { studyName: 'a study' },
    hostId: host,
    ...(onFailure === undefined ? {} : { onFailure }),
  });
  opened.push(study);
  return study;
}

function begin(study: StudyRecorder, number = 1): Promise<TrialRecorder> {
  return study.createTrial(definition(study.identity.study, trialName(number)));
}

function record(trial: TrialRecorder, first: number, seconds: number): void {
  for (let second = first; second < first + seconds; second += 1) {
    recordSecond(trial, second);
    trial.handOver((second + 1) * 1_000_000);
  }
}

describe('a disk that is full', () => {
  it('loses nothing: the data wait, and are committed when there is room again', async () => {
    const failures: CommitFailure[] = [];
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    await study.limitFilePages(1);
    record(trial, 3, 40);
    const settled = trial.settled();
    await expect.poll(() => failures.length, { timeout: 5000 }).toBeGreaterThan(0);
    expect(failures[0]).toMatchObject({ code: 'disk-full' });
    const stopped = trial.acknowledged().link;
    expect(stopped).toBeLessThan(43);
    expect(readTrial(path, trialName(1)).streams[0]?.values.length).toBeGreaterThanOrEqual(stopped * 20);
    record(trial, 43, 2);
    await study.limitFilePages(null);
    await settled;
    await trial.seal();
    await study.close();
    expect(readTrial(path, trialName(1)).streams.map((stream) => stream.values.length)).toEqual([900, 450]);
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
  });

  it('is said at closing when something is lost', async () => {
    const study = await open();
    const trial = await begin(study);
    await study.limitFilePages(1);
    record(trial, 0, 40);
    const settled = trial.settled();
    settled.catch(() => undefined);
    await expect(study.close()).rejects.toThrow(refusal('disk-full'));
    await expect(settled).rejects.toThrow(refusal('commit-failed'));
    expect(verify(path).intact).toBe(true);
  });
});

describe('a disk that refuses', () => {
  it.each(['moved away', 'deleted'])('a file that was %s is written anew, whole, and that is told', async (how) => {
    const failures: CommitFailure[] = [];
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    if (how === 'deleted') for (const end of ['', '-wal', '-shm', '-lock']) rmSync(`${path}${end}`);
    else renameSync(path, `${path}.away`);
    record(trial, 3, 3);
    await trial.settled();
    const told = expect.stringContaining('written anew') as string;
    expect(failures).toMatchObject([{ code: 'commit-failed', what: told }]);
    await expect(openStudyForRecording({ path, hostId: host })).rejects.toThrow(refusal('study-in-use'));
    await trial.seal();
    await study.close();
    expect(readTrial(path, trialName(1)).streams.map((stream) => stream.values.length)).toEqual([120, 60]);
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
    expect(() => independentlyVerify(path)).not.toThrow();
    expect(failures).toHaveLength(1);
    expect(readdirSync(folder.path).filter((name) => name.endsWith('.draft'))).toEqual([]);
  });

  it('another file in its place is left alone, and the record goes on in a file beside it', async () => {
    const failures: CommitFailure[] = [];
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    const other = join(folder.path, 'other.chamberside');
    createStudy(other, 'somebody else’s', '2026-11-28T09:00:00.000Z');
    renameSync(other, path);
    record(trial, 3, 2);
    await trial.settled();
    const rescued = join(folder.path, 'study rescued 1.chamberside');
    expect(failures).toMatchObject([
      { code: 'commit-failed', what: expect.stringContaining('goes on in study rescued 1.chamberside') as string },
    ]);
    // What was told to be on the disk is in it, and nobody else records there.
    expect(readTrial(rescued, trialName(1)).streams.map((stream) => stream.values.length)).toEqual([100, 50]);
    await expect(openStudyForRecording({ path: rescued, hostId: host })).rejects.toThrow(refusal('study-in-use'));
    await trial.seal();
    const what = expect.stringContaining('goes on in study rescued 1.chamberside') as string;
    await expect(study.close()).rejects.toThrow(expect.objectContaining({ where: path, what }));
    expect(verify(rescued)).toMatchObject({ intact: true, findings: [] });
    expect(verify(path)).toMatchObject({ intact: true, findings: [], trials: [] });
    // No log is left that would be read as a part of the other file, or of the copy under its name.
    renameSync(rescued, path);
    expect(verify(path).trials).toMatchObject([{ sealed: true }]);
    expect(readdirSync(folder.path)).toEqual(['study.chamberside']);
  });

  it('a log that was taken away alone costs nothing: it is begun anew', async () => {
    const failures: CommitFailure[] = [];
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    rmSync(`${path}-wal`);
    rmSync(`${path}-shm`);
    record(trial, 3, 2);
    await trial.settled();
    expect(failures).toMatchObject([{ what: expect.stringContaining('log of the study was taken away') as string }]);
    expect(readTrial(path, trialName(1)).streams.map((stream) => stream.values.length)).toEqual([100, 50]);
    record(trial, 5, 1);
    await trial.settled();
    await trial.seal();
    await study.close();
    expect(verify(path)).toMatchObject({ intact: true, findings: [], trials: [{ sealed: true }] });
  });

  it('a log that somebody still reads by is not let go before all of it is in the file', async () => {
    const failures: CommitFailure[] = [];
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    const reader = new Database(path, { readonly: true });
    reader.exec('BEGIN');
    reader.prepare('SELECT count(*) FROM link').get();
    // What the reader may not see yet cannot be brought into the file.
    record(trial, 3, 2);
    await trial.settled();
    rmSync(`${path}-wal`);
    record(trial, 5, 1);
    const still = (): boolean => failures.some(({ what }) => what.includes('reads by it still'));
    await expect.poll(still, { timeout: 15_000 }).toBe(true);
    reader.close();
    await trial.settled();
    expect(readTrial(path, trialName(1)).streams.map((stream) => stream.values.length)).toEqual([120, 60]);
    await trial.seal();
    await study.close();
    expect(verify(path)).toMatchObject({ intact: true, findings: [], trials: [{ sealed: true }] });
  }, 60_000);

  it('another host that got in by a deleted lock is left to it', async () => {
    const failures: CommitFailure[] = [];
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    rmSync(`${path}-lock`);
    const other = await openStudyForRecording({ path, hostId: host });
    opened.push(other);
    record(trial, 3, 2);
    await expect.poll(() => failures.length, { timeout: 5000 }).toBeGreaterThan(0);
    expect(failures[0]?.what).toContain('Another program on this machine');
    await expect(study.close()).rejects.toThrow(refusal('study-in-use'));
    // The other one has its lock still, and its log.
    await expect(openStudyForRecording({ path, hostId: host })).rejects.toThrow(refusal('study-in-use'));
    await begin(other, 2);
    await other.close();
    expect(verify(path).trials).toHaveLength(2);
    expect(readdirSync(folder.path)).toEqual(['study.chamberside']);
  });

  it('a study that has gone with its folder is in a copy where there is room', async () => {
    const failures: CommitFailure[] = [];
    const home = join(folder.path, 'home');
    mkdirSync(home);
    vi.stubEnv('HOME', home);
    path = join(folder.path, 'deep', 'study.chamberside');
    mkdirSync(dirname(path));
    const study = await open((failure) => failures.push(failure));
    const trial = await begin(study);
    record(trial, 0, 3);
    await trial.settled();
    rmSync(dirname(path), { recursive: true });
    record(trial, 3, 2);
    await expect.poll(() => failures.length, { timeout: 5000 }).toBeGreaterThan(0);
    const copy = join(home, 'study rescued 1.chamberside');
    await expect(study.close()).rejects.toThrow(expect.objectContaining({ where: copy }));
    vi.unstubAllEnvs();
    expect(verify(copy)).toMatchObject({ intact: true, findings: [{ code: 'unsealed' }] });
    // What had waited is in it as well.
    expect(readTrial(copy, trialName(1)).streams.map((stream) => stream.values.length)).toEqual([100, 50]);
  });

  it('a folder that nothing can be written in is said as that', async () => {
    path = '/proc/study.chamberside';
    await expect(open()).rejects.toThrow(
      expect.objectContaining({ code: 'commit-failed', where: path, what: 'The file or its folder is read-only' }),
    );
  });

  it('is told apart by what the database and the operating system say', () => {
    const file = new Database(join(folder.path, 'plain'));
    file.exec('CREATE TABLE t (a)');
    file.pragma('query_only = ON');
    const refused = (work: () => void): ChambersideError => {
      try {
        work();
      } catch (error) {
        expect(isStorageFailure(error)).toBe(true);
        return storageError(error, path);
      }
      throw new Error('it was not refused');
    };
    expect(refused(() => file.exec('INSERT INTO t VALUES (1)'))).toMatchObject({
      code: 'commit-failed',
      what: 'The file or its folder is read-only',
      remedy: expect.stringContaining('Make both writable') as string,
    });
    file.pragma('query_only = OFF');
    file.pragma('max_page_count = 1');
    expect(refused(() => file.exec(`INSERT INTO t VALUES (zeroblob(100000))`))).toMatchObject({ code: 'disk-full' });
    file.close();
    expect(refused(() => writeFileSync('/dev/full', 'x'))).toMatchObject({ code: 'disk-full', where: path });
    expect(refused(() => readFileSync(folder.path))).toMatchObject({ code: 'commit-failed' });
    expect(isStorageFailure(new TypeError('a defect'))).toBe(false);
  });
});

describe('a seal that the disk refuses', () => {
  it('can be asked for again, and what is recorded in between goes on in the same second', async () => {
    createStudy(path, 'a study', '2026-01-05T08:00:00.000Z');
    const writer = new StudyWriter(path, null, host, '2026-01-05T08:00:00.000Z');
    const position = writer.createTrial(definition(writer.identity.study, trialName(1)), '2026-01-05T08:00:00.000Z');
    let refusals = 1;
    const trial = new OpenTrial(position, segment(0), {
      links(links) {
        writer.commit([{ trial: trialName(1), links }]);
        const last = links.at(-1);
        if (last !== undefined) trial.committed(last.link, last.throughMicroseconds);
      },
      seal() {
        refusals -= 1;
        if (refusals >= 0) return Promise.reject(new Error('full'));
        return Promise.resolve(writer.seal(trialName(1), '2026-01-05T09:00:00.000Z'));
      },
      ended: () => undefined,
    });
    const at = (microseconds: number): void => trial.reading(0, microseconds, 1);
    at(400_000);
    await expect(trial.seal()).rejects.toThrow('full');
    at(700_000);
    at(1_200_000);
    await trial.seal();
    writer.close();
    const plain = new Database(path, { readonly: true });
    const times = plain.prepare('SELECT from_microseconds, through_microseconds FROM link ORDER BY link').raw().all();
    plain.close();
    expect(times).toEqual([
      [0, 0],
      [0, 400_001],
      [400_001, 1_000_000],
      [1_000_000, 1_200_001],
    ]);
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
    expect(independentlyVerify(path)).toMatchObject({ readings: 3, links: 4, seals: 1 });
  });
});

describe('speed', () => {
  it('commits at least 700 links a second, each with the usual traffic', async () => {
    const study = await open();
    const trial = await begin(study);
    let acknowledgements = 0;
    trial.onAcknowledged(() => (acknowledgements += 1));
    const start = performance.now();
    for (let second = 0; second < 1450; second += 1) {
      record(trial, second, 1);
      // As a conductor does on a virtual clock: other work runs between seconds.
      if (second % 4 === 0) await new Promise((resolve) => setImmediate(resolve));
    }
    await trial.settled();
    const perSecond = 1450 / ((performance.now() - start) / 1000);
    expect(acknowledgements).toBeGreaterThan(1);
    expect(perSecond).toBeGreaterThan(700);
  });
});
