import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { CommitFailure, StudyRecorder, TrialRecorder } from '../../src/host/store/contract.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { verify } from '../../src/host/store/verify.ts';
import { definition, host, recordSecond, temporaryFolder, trialName } from '../support/store/trial.ts';

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
