import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { Worker } from 'node:worker_threads';
import { build } from 'esbuild';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { CommitFailure } from '../../src/host/store/contract.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { verify } from '../../src/host/store/verify.ts';
import { definition, host, recordSecond, temporaryFolder, trialName } from '../support/store/trial.ts';

let folder = temporaryFolder();
beforeEach(() => {
  folder = temporaryFolder();
});
afterEach(() => folder.remove());

describe('the writer worker', () => {
  it('is started again when it dies, and gets everything that was not acknowledged', async () => {
    const path = join(folder.path, 'study.chamberside');
    const workers: Worker[] = [];
    const remember = (worker: Worker): void => void workers.push(worker);
    process.on('worker', remember);
    const failures: CommitFailure[] = [];
    const study = await openStudyForRecording({
      path,
      create: { studyName: 'a study' },
      hostId: host,
      onFailure: (failure) => failures.push(failure),
    });
    const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
    for (let second = 0; second < 60; second += 1) {
      recordSecond(trial, second);
      trial.handOver((second + 1) * 1_000_000);
      if (second === 30) {
        await trial.settled();
        // Not awaited: links are handed over while it dies.
        void workers.at(-1)?.terminate();
      }
    }
    await trial.settled();
    expect(failures[0]).toMatchObject({ code: 'commit-failed' });
    await trial.seal();
    await study.close();
    process.off('worker', remember);
    expect(workers.length).toBe(2);
    expect(verify(path)).toMatchObject({ intact: true, findings: [], trials: [{ links: 61 }] });
    expect(readTrial(path, trialName(1)).streams[0]?.values.length).toBe(1200);
  });

  it.each([
    ['goes on recording meanwhile', 100, [3]],
    ['dies again while it opens', 100, [3, 9]],
  ] as const)('loses nothing when it %s', async (_name, pauseMilliseconds, deaths) => {
    const path = join(folder.path, 'study.chamberside');
    const workers: Worker[] = [];
    const remember = (worker: Worker): void => void workers.push(worker);
    process.on('worker', remember);
    const study = await openStudyForRecording({ path, create: { studyName: 'a study' }, hostId: host });
    const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
    for (let second = 0; second < 16; second += 1) {
      recordSecond(trial, second);
      trial.handOver((second + 1) * 1_000_000);
      if ((deaths as readonly number[]).includes(second)) void workers.at(-1)?.terminate();
      await new Promise((resolve) => setTimeout(resolve, pauseMilliseconds));
    }
    await trial.settled();
    await trial.seal();
    await study.close();
    process.off('worker', remember);
    expect(verify(path)).toMatchObject({ intact: true, trials: [{ sealed: true, links: 17 }] });
    expect(readTrial(path, trialName(1)).streams[0]?.values.length).toBe(320);
  });

  it('is replaced once more when the study is closed right after its death', async () => {
    const path = join(folder.path, 'study.chamberside');
    const workers: Worker[] = [];
    const remember = (worker: Worker): void => void workers.push(worker);
    process.on('worker', remember);
    const study = await openStudyForRecording({ path, create: { studyName: 'a study' }, hostId: host });
    const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
    recordSecond(trial, 0);
    trial.handOver(1_000_000);
    await trial.settled();
    await workers.at(-1)?.terminate();
    for (let second = 1; second < 8; second += 1) {
      recordSecond(trial, second);
      trial.handOver((second + 1) * 1_000_000);
    }
    await study.close();
    process.off('worker', remember);
    expect(readTrial(path, trialName(1)).streams[0]?.values.length).toBe(160);
  });

  it('keeps its lock while the same process reads the study', async () => {
    const path = join(folder.path, 'study.chamberside');
    const study = await openStudyForRecording({ path, create: { studyName: 'a study' }, hostId: host });
    const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
    recordSecond(trial, 0);
    trial.handOver(1_000_000);
    await trial.settled();
    const inode = String(statSync(path).ino);
    // The list of locks is Linux's; elsewhere the test still reads while the study is recorded.
    const list = (): string => (process.platform === 'linux' ? readFileSync('/proc/locks', 'utf8') : `:${inode} `);
    const locks = (): number => list().split('\n').filter((line) => line.includes(`:${inode} `)).length;
    expect(locks()).toBeGreaterThan(0);
    expect(readTrial(path, trialName(1)).streams[0]?.values.length).toBe(20);
    expect(locks()).toBeGreaterThan(0);
    await study.close();
  });

  it('runs from the bundle, as the file beside it', async () => {
    // Inside the checkout, because the bundle takes the native module from node_modules.
    const root = new URL('../../', import.meta.url).pathname;
    mkdirSync(join(root, '.tmp'), { recursive: true });
    const out = mkdtempSync(join(root, '.tmp/bundle-'));
    try {
      const store = join(root, 'src/host/store');
      await build({
        entryPoints: { recorder: join(store, 'recorder.ts'), 'writer-worker': join(store, 'writer-worker.ts') },
        outdir: out,
        bundle: true,
        platform: 'node',
        format: 'esm',
        external: ['better-sqlite3'],
        logLevel: 'silent',
      });
      const bundled = (await import(join(out, 'recorder.js'))) as {
        openStudyForRecording: typeof openStudyForRecording;
      };
      const path = join(folder.path, 'study.chamberside');
      const study = await bundled.openStudyForRecording({ path, create: { studyName: 'bundled' }, hostId: host });
      const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
      recordSecond(trial, 0);
      await trial.seal();
      await study.close();
      expect(verify(path)).toMatchObject({ intact: true, trials: [{ sealed: true, links: 2 }] });
    } finally {
      rmSync(out, { recursive: true, force: true });
    }
  });
});
