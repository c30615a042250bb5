import { readdirSync, readFileSync } from 'node:fs';
import { once } from 'node:events';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { monotonicNow } from '../../src/host/clock/monotonic-now.ts';
import { readLeftGuards } from '../../src/host/guard/left-guards.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { streamOf } from '../../src/model/trial-record.ts';
import { guardAddressSchema } from '../../src/safety/guard/messages.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startGuardedBench } from '../support/guard/guarded-bench.ts';
import type { GuardedBench } from '../support/guard/guarded-bench.ts';
import { driveRuntime } from '../support/runtime/drive.ts';

const folder = temporaryFolder();
let bench: GuardedBench;
beforeAll(async () => {
  bench = await startGuardedBench(folder.path);
}, 120_000);
afterAll(async () => {
  await bench.stop();
  folder.clear();
});

it('sets the load to zero and parks the valve when the host is killed, and leaves no port held', async () => {
  const host = await bench.load();
  const at = monotonicNow();
  host.kill('SIGKILL');
  await once(host, 'exit');
  const { load, valve } = await bench.parked(at, 5);
  process.stdout.write(`after SIGKILL: load at zero ${load.toFixed(3)} s, valve parked ${valve.toFixed(3)} s\n`);
  expect(Math.max(load, valve)).toBeLessThanOrEqual(1.5);

  const left = await readLeftGuards(folder.path);
  expect(left.reports).toMatchObject([
    {
      why: 'the program has ended',
      done: true,
      acts: [
        { instrument: 'ergometer', failure: null },
        { instrument: 'selector', failure: null },
      ],
    },
  ]);
  expect(readdirSync(folder.path).filter((name) => name.endsWith('.address.json'))).toEqual([]);
  // The same ports, at once.
  const next = await bench.load();
  const stopped = monotonicNow();
  next.kill('SIGSTOP');
  const times = await bench.parked(stopped, 5);
  process.stdout.write(
    `after SIGSTOP: load at zero ${times.load.toFixed(3)} s, valve parked ${times.valve.toFixed(3)} s\n`,
  );
  expect(Math.max(times.load, times.valve)).toBeLessThanOrEqual(1.5);
}, 120_000);

/** In which an ergometer prints at least once. */
const printedMilliseconds = 1_300;

/** The guard that a host of this folder has now. */
function guardOf(path: string): number {
  const [file] = readdirSync(path).filter((name) => name.endsWith('.address.json'));
  return guardAddressSchema.parse(JSON.parse(readFileSync(join(path, file ?? ''), 'utf8'))).processId;
}

it('holds the trial and says so when the guard itself is gone, starts another, and begins at zero', async () => {
  const own = temporaryFolder();
  const driver = await driveRuntime({ folder: own.path });
  const { file } = await driver.setUp('cycle', 5);
  const { procedures, window } = driver;
  const { trial } = await procedures.trial.prepare(driver.plan(file), window);
  await driver.command('start');
  await procedures.rig.setOutput({ instrument: 'ergometer', output: 'power', value: 120 }, window);
  const power = await driver.until('the card', ({ rig }) =>
    rig.instruments.some(({ connection, instrument }) => instrument === 'ergometer' && connection !== null),
  );
  const ergometer = power.rig.instruments.find(({ instrument }) => instrument === 'ergometer');
  expect(ergometer?.connection).toMatch(/, guarded$/);
  expect(ergometer?.remarks).toEqual([]);
  await new Promise((resolve) => setTimeout(resolve, printedMilliseconds));
  process.kill(guardOf(own.path), 'SIGKILL');
  const lost = await driver.until('the alarm', ({ alarms }) => alarms.some(({ alarm }) => alarm === 'guard-lost'), 2);
  const standing = lost.alarms.find(({ alarm }) => alarm === 'guard-lost');
  expect(standing).toMatchObject({ priority: 'high', lastedSeconds: null });
  expect(driver.trial().phase).toBe('held');
  expect(lost.rig.instruments.find(({ instrument }) => instrument === 'ergometer')?.remarks.join()).toMatch(
    /^Not guarded at this moment/,
  );
  await driver.until('another guard', ({ alarms, rig }) => {
    const alarm = alarms.find(({ alarm: name }) => name === 'guard-lost');
    const live = rig.instruments.every(({ connection }) => connection !== null);
    return live && alarm !== undefined && alarm.lastedSeconds !== null;
  });
  // Whoever else looks leaves a guard alone that has a host.
  const watching = guardOf(own.path);
  expect((await readLeftGuards(own.path)).reports).toEqual([]);
  expect(guardOf(own.path)).toBe(watching);
  await driver.until('all live', ({ rig }) => rig.instruments.every(({ connection }) => connection !== null));
  await new Promise((resolve) => setTimeout(resolve, printedMilliseconds));
  await driver.end();
  expect(readdirSync(own.path).filter((name) => name.startsWith('load-guard-'))).toEqual([]);
  const record = readTrial(join(own.path, file), trial);
  const raised = record.events.filter((event) => event.kind === 'alarm-raised' && event.alarm === 'guard-lost');
  expect(raised).toHaveLength(1);
  // What the ergometer itself printed: the load, and none after the guard was there again.
  const watts = streamOf(record, 'ergometer', 'power')?.values ?? new Float64Array();
  expect(Math.max(...watts)).toBe(120);
  expect(watts.at(-1)).toBe(0);
  own.clear();
}, 60_000);
