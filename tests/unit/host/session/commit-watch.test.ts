import { describe, expect, it } from 'vitest';
import { watchCommits } from '../../../../src/host/session/commit-watch.ts';
import type { Acknowledgement } from '../../../../src/host/store/contract.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const second = 1_000_000;

function createBench() {
  const clock = createFakeClock(40 * second);
  const listeners = new Set<(acknowledgement: Acknowledgement) => void>();
  let acknowledgement: Acknowledgement = { link: 0, throughMicroseconds: 0 };
  const changes: (readonly [boolean, number])[] = [];
  const failures: unknown[] = [];
  const watch = watchCommits({
    clock,
    recorder: {
      acknowledged: () => acknowledgement,
      onAcknowledged(listener) {
        listeners.add(listener);
        return () => void listeners.delete(listener);
      },
    },
    onChange: (overdue) => changes.push([overdue, clock.now() / second - 40]),
    onFailure: (error) => failures.push(error),
  });
  return {
    clock,
    watch,
    changes,
    failures,
    listeners,
    advance: (seconds: number) => clock.advanceTo((40 + seconds) * second),
    commit(throughSeconds: number) {
      acknowledgement = { link: throughSeconds, throughMicroseconds: throughSeconds * second };
      for (const listener of listeners) listener(acknowledgement);
    },
  };
}

describe('the watch over commits', () => {
  it('says nothing of a disk that keeps up, or has nothing to do', async () => {
    const { watch, changes, advance, commit } = createBench();
    for (let second_ = 1; second_ <= 20; second_ += 1) {
      await advance(second_);
      watch.handedOver(second_ * second);
      await advance(second_ + 0.9);
      commit(second_);
    }
    await advance(300);
    expect(changes).toEqual([]);
  });

  it('says once that what was handed over is not on the disk after 3 s, and once when all is', async () => {
    const { watch, changes, advance, commit } = createBench();
    for (const at of [1, 2, 3, 4, 5]) {
      await advance(at);
      watch.handedOver(at * second);
    }
    expect(changes.map(([overdue]) => overdue)).toEqual([true]);
    expect(changes[0]?.[1]).toBeGreaterThan(4);
    expect(changes[0]?.[1]).toBeLessThanOrEqual(4.5);
    await advance(7.2);
    // Older seconds have come through, but the one of 4 s is overdue by itself now.
    commit(2);
    await advance(7.4);
    commit(3);
    expect(changes).toHaveLength(1);
    commit(5);
    expect(changes[1]?.[0]).toBe(false);
    expect(changes[1]?.[1]).toBeCloseTo(7.4, 6);
    await advance(60);
    expect(changes).toHaveLength(2);
  });

  it('counts anew what waited while the program did not run', async () => {
    const { watch, changes, advance, clock, commit } = createBench();
    await advance(1);
    watch.handedOver(second);
    clock.sleepTo(clock.now() + 30 * second);
    watch.forgive();
    await clock.advanceTo(clock.now() + 2.9 * second);
    expect(changes).toEqual([]);
    commit(1);
    await clock.advanceTo(clock.now() + 10 * second);
    expect(changes).toEqual([]);
  });

  it('leaves neither timer nor listener behind', async () => {
    const { watch, changes, advance, clock, listeners } = createBench();
    watch.handedOver(second);
    watch.end();
    expect(clock.pending).toBe(0);
    expect(listeners.size).toBe(0);
    await advance(60);
    expect(changes).toEqual([]);
  });
});
