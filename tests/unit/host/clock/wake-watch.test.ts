import { describe, expect, it } from 'vitest';
import { watchWake } from '../../../../src/host/clock/wake-watch.ts';
import type { TimeLoss } from '../../../../src/host/clock/wake-watch.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';
import { createFakeMachine } from '../../../support/fake-machine.ts';

const second = 1_000_000;

function createBench(bootStep: number | null = 10_000) {
  const clock = createFakeClock(500 * second);
  const machine = createFakeMachine(clock, bootStep);
  const losses: TimeLoss[] = [];
  const steps: number[] = [];
  const failures: unknown[] = [];
  const watch = watchWake({
    machine,
    onLoss: (loss) => losses.push(loss),
    onWallStep: (by) => steps.push(by),
    onFailure: (error) => failures.push(error),
  });
  const advance = (seconds: number): Promise<void> => clock.advanceTo(clock.now() + seconds * second);
  return { clock, machine, losses, steps, failures, watch, advance };
}

describe('with a boot clock', () => {
  it('notices sleep at the next look, and says since when and how long', async () => {
    const { machine, losses, steps, advance } = createBench();
    await advance(10.4);
    machine.sleep(90 * second);
    await advance(0.5);
    expect(losses).toEqual([]);
    await advance(0.2);
    expect(losses).toEqual([
      {
        cause: 'sleep',
        evidence: 'boot-clock',
        lostAtMicroseconds: 510 * second,
        sleptMicroseconds: 90 * second,
        lostMicroseconds: 91 * second,
      },
    ]);
    await advance(60);
    expect(losses).toHaveLength(1);
    expect(steps).toEqual([]);
  });

  it('notices sleep at the first sign of life, since the last one', async () => {
    const { machine, losses, watch, advance } = createBench();
    await advance(10.4);
    watch.check();
    machine.sleep(30 * second);
    await advance(0.05);
    watch.check();
    expect(losses).toMatchObject([
      { cause: 'sleep', lostAtMicroseconds: 510.4 * second, sleptMicroseconds: 30 * second },
    ]);
    expect(losses[0]?.lostMicroseconds).toBe(30.05 * second);
    watch.check();
    await advance(5);
    expect(losses).toHaveLength(1);
  });

  it.each([3600 * second, -3600 * second, 0.5 * second, -0.2 * second])(
    'takes a wall clock that is set by %d µs for what it is, whenever it looks',
    async (by) => {
      const { machine, losses, steps, watch, advance } = createBench();
      await advance(3.3);
      machine.setWall(by);
      watch.check();
      await advance(3);
      machine.setWall(by);
      await advance(3);
      expect(losses).toEqual([]);
      expect(steps).toEqual([by, by]);
    },
  );

  it('tells a wall clock that is set in the sleep from the sleep', async () => {
    const { machine, losses, steps, advance } = createBench();
    await advance(3);
    machine.sleep(20 * second);
    machine.setWall(-20 * second);
    await advance(1);
    expect(losses).toMatchObject([{ cause: 'sleep', evidence: 'boot-clock', sleptMicroseconds: 20 * second }]);
    expect(steps).toEqual([-20 * second]);
  });

  it('is not misled by a boot clock that goes in whole seconds', async () => {
    const { machine, losses, steps, watch, advance, clock } = createBench(second);
    for (let look = 0; look < 1000; look += 1) {
      await advance(0.137);
      watch.check();
    }
    expect(losses).toEqual([]);
    const from = clock.now();
    machine.sleep(12 * second);
    await advance(0.2);
    watch.check();
    expect(losses).toMatchObject([{ cause: 'sleep', lostAtMicroseconds: from }]);
    expect(Math.abs((losses[0]?.sleptMicroseconds ?? 0) - 12 * second)).toBeLessThan(second);
    expect(steps).toEqual([]);
  });
});

describe('without a boot clock', () => {
  it('takes a leap ahead of the wall clock for sleep, because it may be', async () => {
    const { machine, losses, steps, advance } = createBench(null);
    await advance(4);
    machine.sleep(7 * second);
    await advance(1);
    machine.setWall(3 * second);
    await advance(1);
    expect(losses).toMatchObject([
      { cause: 'sleep', evidence: 'wall-clock', lostAtMicroseconds: 504 * second, sleptMicroseconds: 7 * second },
      { cause: 'sleep', evidence: 'wall-clock', lostAtMicroseconds: 505 * second, sleptMicroseconds: 3 * second },
    ]);
    expect(steps).toEqual([]);
  });

  it.each([1.9 * second, -1.9 * second, -3600 * second])('takes %d µs for a clock that was set', async (by) => {
    const { machine, losses, steps, advance } = createBench(null);
    await advance(4);
    machine.setWall(by);
    await advance(4);
    expect(losses).toEqual([]);
    expect(steps).toEqual([by]);
  });
});

describe.each([10_000, null])('with a boot clock in steps of %d µs (null: none)', (bootStep) => {
  it('never takes a clock that is slewed for one that leaps', async () => {
    const { machine, losses, steps, watch, advance } = createBench(bootStep);
    // 500 ppm is the most that a time service slews; over an hour that is 1.8 s.
    for (let look = 0; look < 36_000; look += 1) {
      await advance(0.1);
      machine.setWall(50);
      watch.check();
    }
    expect(losses).toEqual([]);
    expect(steps).toEqual([]);
  });

  it('notices a process that stood still, by its timer or by the first sign of life, whichever is first', async () => {
    const { clock, losses, steps, watch, advance } = createBench(bootStep);
    await advance(10);
    clock.sleepTo(clock.now() + 8 * second);
    await advance(0);
    await advance(2.4);
    watch.check();
    clock.sleepTo(clock.now() + 5 * second);
    watch.check();
    await advance(5);
    expect(losses).toEqual([
      {
        cause: 'standstill',
        evidence: 'late-call',
        lostAtMicroseconds: 510 * second,
        sleptMicroseconds: 0,
        lostMicroseconds: 8 * second,
      },
      {
        cause: 'standstill',
        evidence: 'late-call',
        lostAtMicroseconds: 520.4 * second,
        sleptMicroseconds: 0,
        lostMicroseconds: 5 * second,
      },
    ]);
    expect(steps).toEqual([]);
  });

  it('forgives a call that is late by less', async () => {
    const { clock, losses, watch, advance } = createBench(bootStep);
    for (let look = 0; look < 20; look += 1) {
      clock.sleepTo(clock.now() + 2.9 * second);
      if (look % 2 === 0) watch.check();
      await advance(0.01);
    }
    expect(losses).toEqual([]);
  });
});

describe('a watch', () => {
  it('reads the clocks again when the process was interrupted between them', async () => {
    const { machine, clock, losses, steps, advance, watch } = createBench();
    const boot = machine.bootNow;
    let torn = 3;
    Object.assign(machine, {
      bootNow: () => {
        if (torn > 0) {
          torn -= 1;
          clock.sleepTo(clock.now() + 0.6 * second);
        }
        return boot();
      },
    });
    await advance(1);
    watch.check();
    await advance(2);
    expect(torn).toBe(0);
    expect(losses).toEqual([]);
    expect(steps).toEqual([]);
  });

  it('never throws, looks only once at a time, goes on after a failure, and ends without a timer', async () => {
    const clock = createFakeClock();
    const machine = createFakeMachine(clock);
    const failures: unknown[] = [];
    let seen = 0;
    const watch = watchWake({
      machine,
      onLoss: () => {
        seen += 1;
        watch.check();
        throw new Error('no record');
      },
      onWallStep: () => undefined,
      onFailure: (error) => failures.push(error),
    });
    for (let sleep = 0; sleep < 2; sleep += 1) {
      machine.sleep(10 * second);
      watch.check();
      await clock.advanceTo(clock.now() + 3 * second);
    }
    expect(seen).toBe(2);
    expect(failures).toMatchObject([{ message: 'no record' }, { message: 'no record' }]);
    watch.end();
    expect(clock.pending).toBe(0);
    machine.sleep(10 * second);
    watch.check();
    expect(seen).toBe(2);
  });
});
