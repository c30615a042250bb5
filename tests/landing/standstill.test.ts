import { writeFileSync } from 'node:fs';
import { afterAll, expect, it } from 'vitest';
import { scenarios } from '../../drivers/virtual-rig/index.ts';
import { listTrials, listUnfinishedTrials, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { startChamberside, temporaryFolder } from '../support/command-line.ts';

const second = 1_000_000;
const folder = temporaryFolder();
afterAll(() => folder.clear());

/** Time of the last dwell of this kind that is in the file; undefined before. */
function beganAt(study: string, purpose: string): number | undefined {
  let trial: string | undefined;
  try {
    trial = listUnfinishedTrials(study)[0]?.trial;
  } catch {
    return undefined;
  }
  if (trial === undefined) return undefined;
  const began = readTrial(study, trial).events.findLast((event) => event.kind === 'dwell-began');
  return began?.kind === 'dwell-began' && began.dwell.purpose === purpose ? began.atMicroseconds : undefined;
}

it('a program that is stopped for 5 s in a dwell holds the trial as of then, and does the dwell again', async () => {
  const scenario = structuredClone(scenarios.short) as unknown as { series: { exercises: unknown[] } };
  scenario.series.exercises.splice(1);
  const file = folder.file('one.json');
  writeFileSync(file, JSON.stringify(scenario));
  const study = folder.file('stopped.chamberside');
  const { child, ended } = startChamberside([
    'rehearse',
    '--study',
    study,
    '--scenario',
    file,
    '--seed',
    '5',
    '--wire',
    'tcp',
    '--json',
  ]);
  try {
    while (beganAt(study, 'probe') === undefined) {
      expect(child.exitCode).toBeNull();
      await new Promise((resolve) => setTimeout(resolve, 250));
    }
    child.kill('SIGSTOP');
    await new Promise((resolve) => setTimeout(resolve, 5000));
  } finally {
    child.kill('SIGCONT');
  }
  const outcome = await ended;
  expect(outcome.stderr).toBe('');

  const { events, segments, streams } = readTrial(study, listTrials(study)[0]?.trial ?? '');
  const lost = events.flatMap((event) => (event.kind === 'time-lost' ? [event] : []));
  expect(lost).toMatchObject([{ cause: 'standstill', evidence: 'late-call' }]);
  const lostAt = lost[0]?.lostAtMicroseconds ?? 0;
  expect(Math.abs((lost[0]?.lostMicroseconds ?? 0) - 5 * second)).toBeLessThan(0.7 * second);
  // The monotonic clock went on: no new segment, and nothing stamped in the time in which nobody could stamp.
  expect(segments).toHaveLength(1);
  const until = lostAt + (lost[0]?.lostMicroseconds ?? 0);
  for (const { atMicroseconds } of streams) {
    expect(atMicroseconds.filter((at) => at > lostAt + 0.1 * second && at < until - 0.1 * second)).toHaveLength(0);
  }
  const broken = events.flatMap((event) => (event.kind === 'dwell-ended' && !event.complete ? [event] : []));
  expect(broken).toHaveLength(1);
  expect(broken[0]?.atMicroseconds).toBe(lostAt);
  const began = events.flatMap((event) => (event.kind === 'dwell-began' ? [event] : []));
  const first = began.find((event) => event.dwell.dwell === broken[0]?.dwell);
  const again = began.filter((event) => event.dwell.step === first?.dwell.step);
  expect(again).toHaveLength(2);
  expect(began[began.findIndex((event) => event === again[1]) - 1]?.dwell.purpose).toBe('zero');
  expect(events.some((event) => event.kind === 'alarm-raised' && event.alarm === 'time-lost')).toBe(true);
  expect(events.some((event) => event.kind === 'phase-changed' && event.to === 'closed')).toBe(true);
  const report = verify(study);
  expect(report.intact).toBe(true);
  expect(report.trials).toMatchObject([{ sealed: true }]);
});
