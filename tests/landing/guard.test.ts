import { once } from 'node:events';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { monotonicNow } from '../../src/host/clock/monotonic-now.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { beatMicroseconds } from '../../src/safety/guard/watch.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startGuardedBench } from '../support/guard/guarded-bench.ts';
import type { GuardedBench } from '../support/guard/guarded-bench.ts';
import { driveRuntime } from '../support/runtime/drive.ts';

const rounds = 25;
const limitSeconds = 1.5;
const folder = temporaryFolder();
let bench: GuardedBench;
beforeAll(async () => {
  bench = await startGuardedBench(folder.path);
}, 120_000);
afterAll(async () => {
  await bench.stop();
  folder.clear();
});

function tell(what: string, times: readonly { readonly load: number; readonly valve: number }[]): void {
  const of = (values: readonly number[]): string => {
    const sorted = [...values].sort((one, other) => one - other);
    const at = (share: number): string => (sorted[Math.round(share * (sorted.length - 1))] ?? NaN).toFixed(3);
    return `${at(0)} / ${at(0.5)} / ${at(1)}`;
  };
  process.stdout.write(
    `${what}, ${times.length} times, s (least / median / most): load at zero ${of(times.map(({ load }) => load))}, ` +
      `valve parked ${of(times.map(({ valve }) => valve))}\n`,
  );
}

describe('the guard', () => {
  it(`has the load at zero and the valve parked within ${limitSeconds} s of SIGSTOP, every time`, async () => {
    const times = [];
    for (let round = 0; round < rounds; round += 1) {
      const host = await bench.load();
      // At every point between two beats.
      await new Promise((resolve) => setTimeout(resolve, (round * beatMicroseconds) / 1000 / rounds));
      const at = monotonicNow();
      host.kill('SIGSTOP');
      times.push(await bench.parked(at, 10));
      host.kill('SIGCONT');
    }
    tell('host stopped', times);
    expect(times).toHaveLength(rounds);
    for (const { load, valve } of times) expect(Math.max(load, valve)).toBeLessThanOrEqual(limitSeconds);
  }, 200_000);

  it(`has them so within ${limitSeconds} s of SIGKILL, every time, and the next host has the ports`, async () => {
    const times = [];
    for (let round = 0; round < rounds; round += 1) {
      const host = await bench.load();
      const gone = once(host, 'exit');
      const at = monotonicNow();
      host.kill('SIGKILL');
      times.push(await bench.parked(at, 10));
      await gone;
    }
    tell('host killed', times);
    expect(times).toHaveLength(rounds);
    for (const { load, valve } of times) expect(Math.max(load, valve)).toBeLessThanOrEqual(limitSeconds);
  }, 300_000);

  it('tells the next host what it did, which records it in the interrupted trial', async () => {
    const host = await bench.load(true);
    const at = monotonicNow();
    // A second of record, so that there is a trial to come back to.
    await new Promise((resolve) => setTimeout(resolve, 2_500));
    const gone = once(host, 'exit');
    host.kill('SIGKILL');
    await bench.parked(at, 10);
    await gone;
    const { file, trial } = bench.trial;
    const driver = await driveRuntime({ folder: folder.path });
    await driver.procedures.person.choose({ code: 'anna' }, driver.window);
    await driver.procedures.trial.resume({ file, trial }, driver.window);
    const { alarms } = await driver.until('the alarm', ({ alarms: now }) =>
      now.some(({ alarm }) => alarm === 'guard-parked'),
    );
    await driver.end();
    expect(alarms.find(({ alarm }) => alarm === 'guard-parked')?.detail).toMatch(/load to zero, acknowledged/);
    const { events } = readTrial(join(folder.path, file), trial);
    const recorded = events.filter((event) => event.kind === 'alarm-raised' && event.alarm === 'guard-parked');
    expect(recorded).toHaveLength(1);
    // It is told once.
    const again = await driveRuntime({ folder: folder.path });
    await again.procedures.trial.resume({ file, trial }, again.window);
    await again.end();
    const after = readTrial(join(folder.path, file), trial).events;
    expect(after.filter((event) => event.kind === 'alarm-raised' && event.alarm === 'guard-parked')).toHaveLength(1);
  }, 120_000);
});
