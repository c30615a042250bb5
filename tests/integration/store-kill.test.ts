import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { listUnfinishedTrials, readTrial, readWire } from '../../src/host/store/read.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { verify } from '../../src/host/store/verify.ts';
import { independentlyVerify } from '../support/store/independent-verifier.ts';
import { host, segment, temporaryFolder, trialName, valueAt } from '../support/store/trial.ts';

const folder = temporaryFolder();
const path = join(folder.path, 'study.chamberside');
const entry = new URL('../support/store/recording-process.ts', import.meta.url).pathname;
afterAll(() => folder.remove());

/** Lets a process record, kills it some time after its first acknowledgement, and returns what it had been told. */
async function recordAndKill(afterMilliseconds: number): Promise<{ first: number; link: number; through: number }> {
  const child = spawn(process.execPath, ['--import', 'tsx', entry, path], { stdio: ['ignore', 'pipe', 'inherit'] });
  const told = { first: -1, link: -1, through: 0 };
  let killing: NodeJS.Timeout | null = null;
  const lines = createInterface({ input: child.stdout });
  lines.on('line', (line) => {
    const [one, other] = line.split(' ');
    if (one === 'begin') told.first = Number(other);
    else if (other !== undefined) {
      told.link = Number(one);
      told.through = Number(other);
      killing ??= setTimeout(() => child.kill('SIGKILL'), afterMilliseconds);
    }
  });
  const read = new Promise((resolve) => lines.on('close', resolve));
  const signal = await new Promise<string | null>((resolve) => child.on('close', (_, by) => resolve(by)));
  await read;
  expect(signal).toBe('SIGKILL');
  return told;
}

describe('a recording process that is killed', () => {
  it('loses nothing that was acknowledged, leaves a file that verifies, and can be resumed', async () => {
    /** Seconds that were acknowledged, over all rounds. */
    const acknowledged: number[] = [];
    for (const [round, milliseconds] of [3, 40, 0, 111, 260].entries()) {
      const told = await recordAndKill(milliseconds);
      for (let second = told.first; second * 1_000_000 < told.through; second += 1) acknowledged.push(second);
      expect(verify(path)).toMatchObject({ intact: true, trials: [{ sealed: false }] });
      const [unfinished] = listUnfinishedTrials(path);
      expect(unfinished?.lastLink).toBeGreaterThanOrEqual(told.link);
      expect(unfinished?.throughMicroseconds).toBeGreaterThanOrEqual(told.through);
      expect(unfinished?.segments.length).toBe(round + 1);
    }
    expect(acknowledged.length).toBeGreaterThan(20);

    const [unfinished] = listUnfinishedTrials(path);
    const study = await openStudyForRecording({ path, hostId: host });
    const trial = await study.resumeTrial(trialName(1), segment(5, (unfinished?.throughMicroseconds ?? 0) + 2_000_000));
    await trial.seal();
    await study.close();
    expect(verify(path)).toMatchObject({ intact: true, findings: [] });
    expect(independentlyVerify(path)).toMatchObject({ trials: 1, seals: 1 });

    const record = readTrial(path, trialName(1));
    const wired = new Set(readWire(path, trialName(1), 'photometer').map((read) => read.atMicroseconds));
    for (const [index, stream] of record.streams.entries()) {
      const values = new Map(Array.from(stream.atMicroseconds, (time, position) => [time, stream.values[position]]));
      expect(values.size).toBe(stream.values.length);
      for (const second of acknowledged) {
        for (let step = 0; step < 20; step += index + 1) {
          const time = second * 1_000_000 + step * 50_000 + 137;
          expect(values.get(time)).toBe(valueAt(index, time));
          expect(wired.has(time)).toBe(true);
        }
      }
    }
  }, 60_000);
});
