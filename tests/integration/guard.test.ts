import { readdirSync } from 'node:fs';
import { once } from 'node:events';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { monotonicNow } from '../../src/host/clock/monotonic-now.ts';
import { readLeftGuards } from '../../src/host/guard/left-guards.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startGuardedBench } from '../support/guard/guarded-bench.ts';
import type { GuardedBench } from '../support/guard/guarded-bench.ts';

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
