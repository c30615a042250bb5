import { spawnSync } from 'node:child_process';
import { closeSync, existsSync, mkdtempSync, openSync, renameSync } from 'node:fs';
import { rmSync, unlinkSync, writeFileSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { createStudy } from '../../src/host/store/create-study.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { program } from '../support/end-to-end/started-program.ts';
import { newAlarm, rounds, secondsUntil, wait, type Round } from './on-processes.ts';
import { openProgramBench, widestGapSeconds } from './program-bench.ts';
import { repeated, UnableToTry, type Fault, type Tried } from './row.ts';

/** A commit comes every second, and one that is refused is told with it, s. */
const diskToldSeconds = 2.5;
/** How long a disk refuses, s. */
const refusesSeconds = 4;
const diskMegabytes = 12;

/** What happens to disk and clock of the machine while a trial runs, on the real clock. */
export function machineFaults(): Fault[] {
  return [
    {
      fault: 'disk full',
      says: `a file system of ${diskMegabytes} MB is full for ${refusesSeconds} s`,
      run: (times) => onSmallDisk((folder) => rounds(times, { folder }, diskFull)),
    },
    {
      fault: 'study not writable',
      says: `the study file is made immutable for ${refusesSeconds} s`,
      run: (times) => rounds(times, {}, notWritable),
    },
    {
      fault: 'study deleted',
      says: 'the study file is deleted underneath',
      run: (times) => rounds(times, {}, deleted),
    },
    {
      fault: 'study replaced',
      says: 'another study is put in the place of the one that is recorded',
      run: (times) => repeated(times, replaced),
    },
    ...[3_600, -7_200].map(
      (seconds): Fault => ({
        fault: seconds > 0 ? 'clock forward' : 'clock back',
        says: `the wall clock of the machine is set ${Math.abs(seconds) / 3_600} h ${seconds > 0 ? 'on' : 'back'}`,
        run: (times) => onOtherClock((command, set) => rounds(times, { command }, clockSet(seconds, set))),
      }),
    ),
  ];
}

function run(command: string, ...words: string[]): boolean {
  return spawnSync(command, words, { stdio: 'ignore' }).status === 0;
}

/** A file system in memory, so small that it can be filled. @throws UnableToTry where none can be mounted. */
async function onSmallDisk(tried: (folder: string) => Promise<Tried[]>): Promise<Tried[]> {
  const folder = mkdtempSync(join(tmpdir(), 'faults-disk-'));
  try {
    if (!run('mount', '-t', 'tmpfs', '-o', `size=${diskMegabytes}m`, 'tmpfs', folder)) {
      throw new UnableToTry('no file system can be mounted here: run it as root');
    }
    try {
      return await tried(folder);
    } finally {
      run('umount', '-l', folder);
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Told while the disk refuses, nothing lost when it takes again. */
async function refused(bench: Parameters<Round>[0], again: () => void): Promise<Omit<Tried, 'where'>> {
  const from = bench.shownMicroseconds;
  let alarmSeconds: number | null;
  try {
    alarmSeconds = await secondsUntil(bench, newAlarm(bench, 'disk-refused'));
    await wait(refusesSeconds);
  } finally {
    again();
  }
  const broken: string[] = [];
  const isKept = ({ record }: Snapshot): boolean => record?.failure === null && record.uncommittedSeconds < 1.5;
  const kept = await secondsUntil(bench, isKept, 15);
  if (kept === null) broken.push('what had waited did not come to the disk');
  const record = bench.record();
  const to = record.streams[0]?.atMicroseconds.at(-1) ?? 0;
  const goesOnFor = (to - from) / 1e6;
  if (goesOnFor < refusesSeconds) broken.push(`the record ends ${goesOnFor} s after the disk began to refuse`);
  const lostSeconds = widestGapSeconds(record, from, to);
  return { lostSeconds, alarmSeconds, limitSeconds: diskToldSeconds, broken };
}

const diskFull: Round = (bench) => {
  const filler = join(bench.folder, 'filler');
  const file = openSync(filler, 'w');
  for (const block of [1 << 20, 4096]) {
    try {
      for (;;) writeSync(file, Buffer.alloc(block));
    } catch {
      // Full, for blocks of this size.
    }
  }
  closeSync(file);
  return refused(bench, () => unlinkSync(filler));
};

const notWritable: Round = (bench) => {
  const files = [bench.study, `${bench.study}-wal`];
  if (!run('chattr', '+i', ...files)) {
    run('chattr', '-i', ...files);
    throw new UnableToTry('files of this file system cannot be made immutable');
  }
  return refused(bench, () => run('chattr', '-i', ...files));
};

/** What has gone is written anew, from the file that only the program still holds. */
const deleted: Round = async (bench) => {
  const from = bench.shownMicroseconds;
  const told = newAlarm(bench, 'disk-refused');
  for (const end of ['', '-wal', '-shm']) rmSync(`${bench.study}${end}`);
  const alarmSeconds = await secondsUntil(bench, told);
  await wait(3);
  if (!existsSync(bench.study)) {
    return { lostSeconds: null, alarmSeconds, limitSeconds: diskToldSeconds, broken: ['the file has gone'] };
  }
  const record = bench.record();
  const to = record.streams[0]?.atMicroseconds.at(-1) ?? 0;
  const broken = bench.findings();
  const recorded = record.events.some(
    (event) => event.kind === 'alarm-raised' && event.alarm === 'disk-refused' && event.detail.includes('written anew'),
  );
  if (!recorded) broken.push('the record does not say what happened');
  if (to < from + 2_000_000) broken.push('the record does not go on');
  const lostSeconds = widestGapSeconds(record, 0, to);
  return { lostSeconds, alarmSeconds, limitSeconds: diskToldSeconds, broken };
};

/** The other file is left alone, and the record goes on, and is sealed, in one beside it. */
async function replaced(number: number): Promise<Tried> {
  const bench = await openProgramBench();
  try {
    await bench.ready();
    const from = bench.shownMicroseconds;
    const told = newAlarm(bench, 'disk-refused');
    const other = join(bench.folder, 'other');
    createStudy(other, 'Somebody else’s', new Date().toISOString());
    renameSync(other, bench.study);
    const alarmSeconds = await secondsUntil(bench, told);
    await wait(2);
    await bench.window.command('stop', 'tried');
    await bench.window.command('close');
    await bench.window.until('the end', ({ trial }) => ['done', 'failed'].includes(trial?.ending ?? ''), 60);
    const { endingFailure } = bench.window.trial();
    const rescued = join(bench.folder, 'faults rescued 1.chamberside');
    const broken: string[] = [];
    if (!(endingFailure ?? '').includes('faults rescued 1')) broken.push(`it ends with: ${endingFailure}`);
    if (verify(bench.study).trials.length > 0) broken.push('the other study holds a trial');
    const { intact, trials } = verify(rescued);
    if (!intact || !trials.every(({ sealed }) => sealed)) broken.push('the rescued study is not intact and sealed');
    const record = readTrial(rescued, bench.trial);
    const to = record.streams[0]?.atMicroseconds.at(-1) ?? 0;
    if (to < from + 1_500_000) broken.push('the record does not go on');
    const lostSeconds = widestGapSeconds(record, 0, to);
    return { where: String(number), lostSeconds, alarmSeconds, limitSeconds: diskToldSeconds, broken };
  } finally {
    await bench.end();
  }
}

/** The program under a wall clock that can be set, its monotonic clock left alone. @throws UnableToTry without one. */
async function onOtherClock(
  tried: (command: readonly string[], set: (seconds: number) => void) => Promise<Tried[]>,
): Promise<Tried[]> {
  const library = spawnSync('sh', ['-c', 'ls /usr/lib/*/faketime/libfaketime.so.1 2>/dev/null | head -1'], {
    encoding: 'utf8',
  }).stdout.trim();
  if (library === '') throw new UnableToTry('libfaketime is not installed (Debian: apt-get install -y faketime)');
  const folder = mkdtempSync(join(tmpdir(), 'faults-clock-'));
  const file = join(folder, 'clock');
  const set = (seconds: number): void => writeFileSync(file, `${seconds < 0 ? '' : '+'}${seconds}\n`);
  set(0);
  const variables = {
    LD_PRELOAD: library,
    FAKETIME_TIMESTAMP_FILE: file,
    FAKETIME_NO_CACHE: '1',
    FAKETIME_DONT_FAKE_MONOTONIC: '1',
    DONT_FAKE_MONOTONIC: '1',
  };
  const words = Object.entries(variables).map(([name, value]) => `${name}=${value}`);
  try {
    return await tried(['env', ...words, process.execPath, program, 'start'], set);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const clockSet = (seconds: number, set: (seconds: number) => void): Round => {
  let offset = 0;
  return async (bench) => {
    const from = bench.shownMicroseconds;
    const before = bench.record().events.filter(({ kind }) => kind === 'wall-clock-set').length;
    offset += seconds;
    set(offset);
    await wait(4);
    const record = bench.record();
    const told = record.events.filter((event) => event.kind === 'wall-clock-set').slice(before);
    const broken: string[] = [];
    const [first] = told;
    if (first === undefined) broken.push('the record does not say that the clock was set');
    else if (Math.abs(first.byMicroseconds / 1e6 - seconds) > 1) {
      broken.push(`the record says that it was set by ${first.byMicroseconds / 1e6} s, not ${seconds}`);
    }
    if (bench.window.trial().phase !== 'running') broken.push('the trial does not run on');
    const to = record.streams[0]?.atMicroseconds.at(-1) ?? 0;
    const passed = (to - from) / 1e6;
    if (Math.abs(passed - 4) > 2) broken.push(`4 s are ${passed.toFixed(1)} s of the trial`);
    return { lostSeconds: widestGapSeconds(record, from, to), alarmSeconds: null, limitSeconds: null, broken };
  };
};
