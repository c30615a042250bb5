import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
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
