import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { StudyRow } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';

interface Progress {
  readonly file: string;
  readonly trial: string;
  readonly kind: string;
  readonly air: string;
  readonly throughMicroseconds: number;
}

const folder = temporaryFolder();
const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const entry = fileURLToPath(new URL('../support/runtime/host-process.ts', import.meta.url));
let driver: Driver;
let killed: Progress;
let found: StudyRow | undefined;
let left: TrialRecord;
let held: TrialSnapshot;
let result: TrialResult;
let record: TrialRecord;

/** A host in a process of its own, killed while the subject is in the exercise and usable air is read. */
async function killedHost(): Promise<Progress> {
  const child = spawn(process.execPath, ['--import', loader, entry, folder.path], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let last: Progress | null = null;
  const ended = new Promise<NodeJS.Signals | null>((resolve) => {
    child.once('close', (_code, signal) => resolve(signal));
  });
  createInterface({ input: child.stdout }).on('line', (line) => {
    last = JSON.parse(line) as Progress;
    if (last.kind === 'exercise' && last.air === 'usable') child.kill('SIGKILL');
  });
  expect(await ended).toBe('SIGKILL');
  if (last === null) throw new Error('the host said nothing before it was killed');
  return last;
}

beforeAll(async () => {
  killed = await killedHost();
  const { file, trial } = killed;
  left = readTrial(join(folder.path, file), trial);
  driver = await driveRuntime({ folder: folder.path });
  await driver.procedures.person.choose({ code: 'anna' }, driver.window);
  found = driver.runtime.snapshot().studies.find((study) => study.file === file);
  await driver.procedures.trial.resume({ file, trial }, driver.window);
  held = driver.trial();
  await driver.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  await driver.command('go-on', 'in place and fit');
  await driver.until('the result', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 120);
  result = await driver.procedures.trial.result({ file, trial }, driver.window);
  record = readTrial(join(folder.path, file), trial);
}, 300_000);
afterAll(async () => {
  await driver.end();
  folder.clear();
});

describe('a host that is killed in mid-exercise', () => {
  it('leaves an interrupted trial with everything that was said to be on the disk', () => {
    expect(found?.trials).toMatchObject([{ trial: killed.trial, standing: 'interrupted' }]);
    const photometer = left.streams[0]?.atMicroseconds ?? new Float64Array();
    const before = photometer.filter((at) => at < killed.throughMicroseconds).length;
    expect(before).toBeGreaterThan(300);
    const after = record.streams[0]?.atMicroseconds.filter((at) => at < killed.throughMicroseconds).length;
    expect(after).toBe(before);
  });

  it('comes back held, with what the lanes knew', () => {
    expect(held).toMatchObject({ phase: 'held', heldBecause: 'interrupted', now: { kind: 'held' } });
    expect(held.allowed).toContain('stop');
    expect(held.heartRateLimit).toBe(180);
    expect(held.requirementPercent).toBe(2);
    expect(held.filteredAir).not.toBeNull();
    expect(held.challenge).not.toBeNull();
    expect(held.exercises[0]).toMatchObject({ exercise: 'march', state: 'now', attempts: 1 });
  });

  it('goes on to its end, and the file is intact', () => {
    expect(driver.trial().endingFailure).toBeNull();
    expect(driver.trial().ending).toBe('done');
    expect(record.segments.map(({ reason }) => reason)).toEqual(['start', 'restart']);
    expect(result.assessment?.cells.every(({ windowPercent }) => windowPercent !== null)).toBe(true);
    expect(result.gaps.some(({ text }) => text === 'The program did not run.')).toBe(true);
    expect(verify(join(folder.path, killed.file))).toMatchObject({ intact: true, trials: [{ sealed: true }] });
  });

  it('keeps the truth of both rigs in the file beside the study, and no other', async () => {
    const truths = readdirSync(folder.path).filter((name) => name.endsWith('.truth'));
    const own = `${killed.file.replace(/\.chamberside$/, '')}.${killed.trial}.truth`;
    expect(truths).toEqual([own]);
    expect(existsSync(join(folder.path, own))).toBe(true);
  });
});
