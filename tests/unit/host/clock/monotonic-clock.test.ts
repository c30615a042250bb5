import { describe, expect, it } from 'vitest';
import { createMonotonicClock, type MonotonicPlatform } from '../../../../src/host/clock/monotonic-clock.ts';

interface Armed {
  readonly milliseconds: number;
  readonly fire: () => void;
}

/** A platform whose time and timers the test moves by hand. */
function manualPlatform(): { platform: MonotonicPlatform; armed: () => Armed[]; set(now: number): void } {
  let now = 0;
  const timers = new Set<Armed>();
  const arm = (callback: () => void, milliseconds: number): (() => void) => {
    const entry: Armed = {
      milliseconds,
      fire() {
        timers.delete(entry);
        callback();
      },
    };
    timers.add(entry);
    return () => timers.delete(entry);
  };
  return {
    platform: { now: () => now, setTimer: arm, setTurn: (callback) => arm(callback, -1) },
    armed: () => [...timers],
    set(value) {
      now = value;
    },
  };
}

describe('monotonic clock', () => {
  it('never fires before an absolute deadline on the real platform', async () => {
    const clock = createMonotonicClock();
    for (const delay of [0, 1, 700, 1500, 12_345, 30_000]) {
      const due = clock.now() + delay;
      const fired = await new Promise<number>((resolve) => {
        clock.at(due, () => resolve(clock.now()));
      });
      expect(fired).toBeGreaterThanOrEqual(due);
      expect(fired - due).toBeLessThan(500_000);
    }
  });

  it('is awake before a prompt deadline, turn after turn, and does everything else in between', () => {
    const { platform, armed, set } = manualPlatform();
    const clock = createMonotonicClock(platform);
    const fired: string[] = [];
    clock.at(100_000, () => fired.push('prompt'), true);
    clock.at(90_000, () => fired.push('other'));
    clock.at(200_000, () => fired.push('later'));
    const waits = (): number[] => armed().map((timer) => timer.milliseconds);
    expect(waits()).toEqual([85]);
    set(85_000);
    armed()[0]?.fire();
    for (const now of [86_000, 89_000]) {
      expect(waits()).toEqual([-1]);
      set(now);
      armed()[0]?.fire();
    }
    set(90_000);
    armed()[0]?.fire();
    expect(fired).toEqual(['other']);
    expect(waits()).toEqual([-1]);
    set(99_999);
    armed()[0]?.fire();
    expect(fired).toEqual(['other']);
    set(100_000);
    armed()[0]?.fire();
    expect(fired).toEqual(['other', 'prompt']);
    expect(waits()).toEqual([100]);
  });

  it('sleeps again when a prompt deadline is given up, and for one that has passed wakes nobody', () => {
    const { platform, armed, set } = manualPlatform();
    const clock = createMonotonicClock(platform);
    const cancel = clock.at(50_000, () => undefined, true);
    clock.at(70_000, () => undefined);
    set(40_000);
    armed()[0]?.fire();
    expect(armed().map((timer) => timer.milliseconds)).toEqual([-1]);
    cancel();
    expect(armed().map((timer) => timer.milliseconds)).toEqual([30]);
    let late = 0;
    clock.at(10_000, () => (late += 1), true);
    armed()[0]?.fire();
    armed()[0]?.fire();
    expect(late).toBe(1);
    expect(armed().map((timer) => timer.milliseconds)).toEqual([30]);
  });

  it('arms again when the platform fires early', () => {
    const { platform, armed, set } = manualPlatform();
    const clock = createMonotonicClock(platform);
    let fired = 0;
    clock.at(10_500, () => {
      fired += 1;
    });
    expect(armed().map((timer) => timer.milliseconds)).toEqual([11]);
    set(10_499);
    armed()[0]?.fire();
    expect(fired).toBe(0);
    expect(armed().map((timer) => timer.milliseconds)).toEqual([1]);
    set(10_500);
    armed()[0]?.fire();
    expect(fired).toBe(1);
    expect(armed()).toEqual([]);
  });

  it('chains a wait that is longer than the platform can', () => {
    const { platform, armed, set } = manualPlatform();
    const clock = createMonotonicClock(platform);
    let fired = 0;
    const dueMicroseconds = 3 * (2 ** 31 - 1) * 1000;
    clock.at(dueMicroseconds, () => {
      fired += 1;
    });
    let rounds = 0;
    while (armed().length > 0 && rounds < 10) {
      const timer = armed()[0] as Armed;
      expect(timer.milliseconds).toBeLessThanOrEqual(2 ** 31 - 1);
      set(platform.now() + timer.milliseconds * 1000);
      rounds += 1;
      timer.fire();
    }
    expect(rounds).toBe(3);
    expect(fired).toBe(1);
  });

  it('keeps the order of deadlines, gives each its own turn, and leaves no timer after cancelling', () => {
    const { platform, armed, set } = manualPlatform();
    const clock = createMonotonicClock(platform);
    const seen: string[] = [];
    clock.at(2000, () => seen.push('late'));
    clock.at(1000, () => {
      seen.push('early');
      clock.after(0, () => seen.push('added'));
    });
    clock.at(2000, () => seen.push('late again'));
    const cancel = clock.at(500, () => seen.push('cancelled'));
    cancel();
    cancel();
    expect(armed()).toHaveLength(1);
    set(5000);
    let turns = 0;
    for (; armed().length > 0; turns += 1) armed()[0]?.fire();
    expect(seen).toEqual(['early', 'late', 'late again', 'added']);
    expect(turns).toBe(4);
    const last = clock.at(9_000, () => undefined);
    expect(armed()).toHaveLength(1);
    last();
    expect(armed()).toHaveLength(0);
  });

  it('goes on after a callback that throws', () => {
    const { platform, armed, set } = manualPlatform();
    const clock = createMonotonicClock(platform);
    let fired = 0;
    clock.at(1, () => {
      throw new Error('from the callback');
    });
    clock.at(2, () => {
      fired += 1;
    });
    set(10);
    expect(() => armed()[0]?.fire()).toThrow('from the callback');
    armed()[0]?.fire();
    expect(fired).toBe(1);
  });

  it('takes a passed time at once but not synchronously, and refuses what is no number', async () => {
    const clock = createMonotonicClock();
    let fired = false;
    clock.at(0, () => {
      fired = true;
    });
    expect(fired).toBe(false);
    await new Promise((resolve) => setTimeout(resolve, 20));
    expect(fired).toBe(true);
    expect(() => clock.at(Number.NaN, () => undefined)).toThrow(RangeError);
  });
});
