import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { cycle } from '../../drivers/virtual-rig/scenarios/cycle.ts';
import type { Scenario } from '../../drivers/virtual-rig/index.ts';
import { RandomStream } from '../../drivers/virtual-rig/random.ts';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { graceMicroseconds } from '../../src/host/runtime/window-keeper.ts';
import { startProgram } from '../support/end-to-end/started-program.ts';
import { channelHeaders, enter, openChannel } from '../support/doors/browser-peer.ts';
import { openProgramWindow } from '../support/load/program-window.ts';
import { quickScenarioOf } from '../support/runtime/quick-scenario.ts';
import { openProgramBench, widestGapSeconds, type ProgramBench } from './program-bench.ts';
import { UnableToTry, type Fault, type Tried } from './row.ts';

/** Until somebody is told of what the host itself notices, s. */
const toldSeconds = 1.5;
/** How long a process stands still, s. */
const standsSeconds = 3;

/** What happens to the processes of the program while a trial runs, on the real clock. */
export function processFaults(): Fault[] {
  return [
    {
      fault: 'kill host',
      says: 'kill -9 of the host at any moment: its window loses the channel, the next host goes on with the trial',
      run: (times) => rounds(Math.max(3, times), {}, killHost, 8),
    },
    {
      fault: 'stop host',
      says: `the host stands still for ${standsSeconds} s`,
      run: (times) => rounds(times, {}, stopHost),
    },
    {
      fault: 'kill rig',
      says: 'every instrument is gone at once: the process behind the virtual rig is killed',
      run: (times) => rounds(times, {}, killRig),
    },
    {
      fault: 'kill guard',
      says: 'kill -9 of the guard of load and valve; it is started anew',
      run: (times) => rounds(times, { scenario: writeGuarded }, killGuard),
    },
    {
      fault: 'kill window',
      says: 'the only window is gone; another one comes after the trial was held',
      run: (times) => rounds(times, {}, killWindow),
    },
    {
      fault: 'stalled window',
      says: 'a second window takes nothing of what it is sent',
      run: (times) => rounds(times, {}, stalledWindow),
    },
    {
      fault: 'two windows',
      says: 'two windows hold the trial at the same time, and go on at the same time',
      run: (times) => rounds(times, {}, twoWindows),
    },
    {
      fault: 'two programs',
      says: 'a second program is started on the folder of the first',
      run: (times) => rounds(times, {}, twoPrograms),
    },
  ];
}

export type Round = (bench: ProgramBench) => Promise<Omit<Tried, 'where'>>;

export const wait = (seconds: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, 1000 * seconds));

/**
 * So many rounds on one bench, each at a moment of its own; what is left must verify and be sealed.
 * @param spreadSeconds moments lie within so long after the trial runs.
 */
export async function rounds(
  times: number,
  options: Parameters<typeof openProgramBench>[0],
  round: Round,
  spreadSeconds = 2,
): Promise<Tried[]> {
  const bench = await openProgramBench(options);
  const random = new RandomStream(20261128, 'faults');
  const tries: Tried[] = [];
  try {
    for (let number = 1; number <= times; number += 1) {
      await bench.ready();
      await wait(spreadSeconds * random.uniform());
      const { kind, purpose } = bench.window.trial().now;
      const where = `${number}, ${kind} ${purpose ?? ''}`.trim();
      tries.push({ where, ...(await round(bench)) });
    }
    if (bench.program.child.signalCode !== null) await bench.ready();
    await bench.finish();
    const findings = bench.findings();
    const last = tries.pop();
    if (last !== undefined) tries.push({ ...last, broken: [...last.broken, ...findings] });
  } finally {
    await bench.end();
  }
  return tries;
}

/** Seconds until a condition of the newest snapshot, at most so many; null: it never came. */
export async function secondsUntil(
  bench: ProgramBench,
  condition: (snapshot: Snapshot) => boolean,
  most = 10,
): Promise<number | null> {
  const began = performance.now();
  return bench.window
    .until('it', condition, most)
    .then(() => (performance.now() - began) / 1000)
    .catch(() => null);
}

/** Whether an alarm is told that was not when this was called. */
export function newAlarm(bench: ProgramBench, alarm: string): (snapshot: Snapshot) => boolean {
  const told = ({ alarms }: Snapshot): string[] =>
    alarms.filter((each) => each.alarm === alarm).map(({ raisedAt }) => raisedAt);
  const before = new Set(told(bench.window.snapshot()));
  return (snapshot) => told(snapshot).some((at) => !before.has(at));
}

const killHost: Round = async (bench) => {
  const { window } = bench;
  const recorded = window
    .snapshot()
    .studies.flatMap(({ trials }) => trials.filter(({ trial }) => trial === bench.trial))
    .at(0)?.recordedSeconds;
  const killed = performance.now();
  const gone = bench.program.kill();
  await window.ended;
  const alarmSeconds = (performance.now() - killed) / 1000;
  await gone;
  const shown = bench.shownMicroseconds;
  const stored = bench.record().streams[0]?.atMicroseconds.at(-1) ?? 0;
  const broken = bench.findings();
  // The last reading lies up to its rhythm before what is said.
  if (recorded === undefined) broken.push('no window was told how much is kept');
  else if (stored < 1e6 * (recorded - 0.1)) broken.push(`${recorded} s were said to be kept, ${stored / 1e6} s are`);
  window.leave();
  return { lostSeconds: Math.max(0, shown - stored) / 1e6, alarmSeconds, limitSeconds: toldSeconds, broken };
};

const stopHost: Round = async (bench) => {
  const { child } = bench.program;
  const told = newAlarm(bench, 'time-lost');
  child.kill('SIGSTOP');
  await wait(standsSeconds);
  child.kill('SIGCONT');
  const alarmSeconds = await secondsUntil(bench, told);
  await secondsUntil(bench, ({ trial }) => trial?.phase === 'held');
  // What comes after it has to be on the disk before it is looked for there.
  await wait(2.5);
  const record = bench.record();
  const lost = record.events.findLast((event) => event.kind === 'time-lost');
  if (lost === undefined) return { ...untold, alarmSeconds, broken: ['the record does not say that time was lost'] };
  const back = lost.lostAtMicroseconds + lost.lostMicroseconds;
  const seconds = lost.lostMicroseconds / 1e6;
  const broken =
    Math.abs(seconds - standsSeconds) > 1 ? [`${seconds.toFixed(2)} s are said to be lost, not ${standsSeconds}`] : [];
  const lostSeconds = widestGapSeconds(record, back, back + 1_500_000);
  return { lostSeconds, alarmSeconds, limitSeconds: toldSeconds, broken };
};

const untold = { lostSeconds: null, alarmSeconds: null, limitSeconds: toldSeconds } as const;

const killRig: Round = async (bench) => {
  const { virtualRig } = bench.window.snapshot().rig;
  if (virtualRig?.processId == null) return { ...untold, broken: ['the rig has no process'] };
  const told = newAlarm(bench, 'rig-ended');
  process.kill(virtualRig.processId, 'SIGKILL');
  const alarmSeconds = await secondsUntil(bench, told);
  const held = await secondsUntil(bench, ({ trial }) => trial?.phase === 'held', 3);
  const shown = bench.shownMicroseconds;
  const record = await bench.finish();
  const stored = record.streams[0]?.atMicroseconds.at(-1) ?? 0;
  const broken = held === null ? ['the trial was not held'] : [];
  await bench.window.client.trial.leave({});
  await bench.window.until('no trial', ({ trial }) => trial === null);
  await bench.window.client.rig.close({});
  await bench.window.until('no rig', ({ rig }) => rig.instruments.length === 0);
  return { lostSeconds: Math.max(0, shown - stored) / 1e6, alarmSeconds, limitSeconds: toldSeconds, broken };
};

const killGuard: Round = async (bench) => {
  const guard = childOf(bench.program.child.pid ?? 0, 'guard-process');
  if (guard === null) throw new UnableToTry('the processes of this machine cannot be listed');
  const from = bench.shownMicroseconds;
  const told = newAlarm(bench, 'guard-lost');
  process.kill(guard, 'SIGKILL');
  const alarmSeconds = await secondsUntil(bench, told);
  const stands = ({ alarms }: Snapshot): boolean =>
    alarms.some(({ alarm, lastedSeconds }) => alarm === 'guard-lost' && lastedSeconds === null);
  const again = await secondsUntil(bench, (snapshot) => !stands(snapshot), 20);
  await wait(2.5);
  const record = bench.record();
  const broken = again === null ? ['the guard was not started anew'] : [];
  const to = from + 2_000_000;
  return { lostSeconds: widestGapSeconds(record, from, to), alarmSeconds, limitSeconds: toldSeconds, broken };
};

/** The process below another one whose command line holds these words; null where there is none. */
function childOf(parent: number, words: string): number | null {
  const found = readdirSync('/proc').filter((name) => {
    try {
      const status = readFileSync(join('/proc', name, 'status'), 'utf8');
      return (
        status.includes(`\nPPid:\t${parent}\n`) && readFileSync(join('/proc', name, 'cmdline'), 'utf8').includes(words)
      );
    } catch {
      return false;
    }
  });
  return found[0] === undefined ? null : Number(found[0]);
}

const killWindow: Round = async (bench) => {
  const alone = (): number => [...bench.program.said.matchAll(/NO WINDOW IS LEFT/g)].length;
  const [before, from] = [alone(), bench.shownMicroseconds];
  const began = performance.now();
  bench.window.leave();
  while (alone() === before && performance.now() - began < 20_000) await wait(0.02);
  const alarmSeconds = alone() === before ? null : (performance.now() - began) / 1000;
  await bench.openWindow();
  const broken: string[] = [];
  const seen = ({ alarms }: Snapshot): boolean => alarms.some(({ alarm }) => alarm === 'window-lost');
  if ((await secondsUntil(bench, seen, 3)) === null) broken.push('the next window does not show what happened');
  if (bench.window.trial().phase !== 'held') broken.push('the trial was not held');
  await wait(1.5);
  const record = bench.record();
  const to = record.streams[0]?.atMicroseconds.at(-1) ?? from;
  // A window that is loaded again is away for a moment, and nobody is told of that.
  const limitSeconds = graceMicroseconds / 1e6 + 0.5;
  return { lostSeconds: widestGapSeconds(record, from, to), alarmSeconds, limitSeconds, broken };
};

const stalledWindow: Round = async (bench) => {
  const address = await bench.program.newestAddress();
  const port = Number(new URL(address).port);
  const entry = await enter(address);
  const samples = openChannel(port, '/samples', channelHeaders(port, entry));
  await samples.opened;
  samples.socket.on('error', () => undefined);
  samples.socket.send(JSON.stringify({ message: 'hello', secret: entry.secret }));
  samples.socket.send(JSON.stringify({ message: 'subscribe', streams: [0, 1, 2] }));
  samples.socket.pause();
  const from = bench.shownMicroseconds;
  await wait(4);
  const behind = from + 3_000_000 - bench.shownMicroseconds;
  samples.socket.terminate();
  await wait(1.5);
  const broken = behind > 0 ? [`the other window is ${behind / 1e6} s behind`] : [];
  const lostSeconds = widestGapSeconds(bench.record(), from, from + 4_000_000);
  return { lostSeconds, alarmSeconds: null, limitSeconds: null, broken };
};

const twoWindows: Round = async (bench) => {
  const from = bench.shownMicroseconds;
  const other = await openProgramWindow(await bench.program.newestAddress());
  const both = [bench.window, other];
  const broken: string[] = [];
  const inBoth = async (phase: string): Promise<void> => {
    for (const window of both) await window.until(phase, ({ trial }) => trial?.phase === phase, 5);
  };
  await inBoth('running');
  for (const [action, phase] of [['hold', 'held'], ['go-on', 'running']] as const) {
    const asked = await Promise.allSettled(both.map((window) => window.command(action, 'both')));
    if (asked.every(({ status }) => status === 'rejected')) broken.push(`${action} was refused to both`);
    await inBoth(phase);
  }
  other.leave();
  await wait(1.5);
  const record = bench.record();
  const at = (action: string): number =>
    record.events.filter(
      (event) => event.kind === 'operator-action' && event.action === action && event.atMicroseconds > from,
    ).length;
  for (const action of ['hold', 'go-on']) {
    if (at(action) !== 1) broken.push(`${action} is recorded ${at(action)} times`);
  }
  const to = record.streams[0]?.atMicroseconds.at(-1) ?? from;
  return { lostSeconds: widestGapSeconds(record, from, to), alarmSeconds: null, limitSeconds: null, broken };
};

const twoPrograms: Round = async (bench) => {
  const from = bench.shownMicroseconds;
  const second = startProgram(bench.folder);
  const ended = new Promise<number | null>((resolve) => {
    second.child.once('exit', resolve);
    setTimeout(() => resolve(null), 15_000);
  });
  const status = await ended;
  const broken: string[] = [];
  if (status === null) broken.push('the second program went on');
  if (status === 0) broken.push('the second program ended as if all were well');
  if (!/another|already|in use/i.test(second.said)) broken.push(`the second program said: ${second.said}`);
  second.child.kill('SIGKILL');
  await wait(1.5);
  const record = bench.record();
  const to = record.streams[0]?.atMicroseconds.at(-1) ?? from;
  return { lostSeconds: widestGapSeconds(record, from, to), alarmSeconds: null, limitSeconds: null, broken };
};

/** A trial of one exercise with an ergometer, whose load a guard watches, and the valve with it. */
function writeGuarded(folder: string): string {
  const quick = quickScenarioOf(cycle, ['march']);
  const scenario: Scenario = {
    ...quick,
    name: 'guarded',
    series: {
      ...quick.series,
      exercises: quick.series.exercises.map((one) => ({ ...one, durationSeconds: 60, dwellsPerProbe: 6 })),
    },
  };
  writeFileSync(join(folder, 'guarded.json'), JSON.stringify(scenario));
  return 'guarded.json';
}
