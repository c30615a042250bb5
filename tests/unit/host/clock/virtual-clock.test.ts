import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createVirtualClock } from '../../../../src/host/clock/virtual-clock.ts';

describe('virtual clock', () => {
  it('orders by time, then by insertion', async () => {
    const clock = createVirtualClock(100);
    const seen: string[] = [];
    clock.at(300, () => seen.push(`a@${clock.now()}`));
    clock.at(200, () => seen.push(`b@${clock.now()}`));
    clock.at(300, () => seen.push(`c@${clock.now()}`));
    clock.after(0, () => seen.push(`d@${clock.now()}`));
    expect(seen).toEqual([]);
    expect(await clock.run()).toBe('exhausted');
    expect(seen).toEqual(['d@100', 'b@200', 'a@300', 'c@300']);
  });

  it('agrees with a stable sort for any set of times and cancellations', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.record({ at: fc.integer({ min: 0, max: 50 }), cancelled: fc.boolean() }), { maxLength: 60 }),
        async (events) => {
          const clock = createVirtualClock(0);
          const seen: number[] = [];
          const cancels = events.map((event, index) => clock.at(event.at, () => seen.push(index)));
          events.forEach((event, index) => {
            if (event.cancelled) cancels[index]?.();
          });
          await clock.run();
          const expected = events
            .map((event, index) => ({ ...event, index }))
            .filter((event) => !event.cancelled)
            .sort((a, b) => a.at - b.at)
            .map((event) => event.index);
          expect(seen).toEqual(expected);
        },
      ),
      { numRuns: 100 },
    );
  });

  it('performs a time that has passed at once, but not synchronously, and never runs backwards', async () => {
    const clock = createVirtualClock(1000);
    let at = -1;
    clock.at(5, () => {
      at = clock.now();
    });
    expect(at).toBe(-1);
    await clock.run();
    expect(at).toBe(1000);
    clock.after(-7, () => {
      at = clock.now() + 1;
    });
    await clock.run();
    expect(at).toBe(1001);
  });

  it('settles promise chains of any length before the next event', async () => {
    const clock = createVirtualClock(0);
    const seen: string[] = [];
    clock.at(10, () => {
      void (async () => {
        for (let step = 0; step < 50; step += 1) await Promise.resolve();
        process.nextTick(() => seen.push('tick'));
        for (let step = 0; step < 50; step += 1) await Promise.resolve();
        clock.at(15, () => seen.push('added by the chain'));
        seen.push('chain');
      })();
    });
    clock.at(20, () => seen.push('next'));
    await clock.run();
    expect(seen.sort()).toEqual(['added by the chain', 'chain', 'next', 'tick'].sort());
    expect(seen.indexOf('chain')).toBeLessThan(seen.indexOf('next'));
  });

  it('stops at a time, with the events at that time done and the clock standing there', async () => {
    const clock = createVirtualClock(0);
    const seen: number[] = [];
    for (const at of [5, 10, 11]) clock.at(at, () => seen.push(at));
    expect(await clock.run({ until: 10 })).toBe('reached');
    expect(seen).toEqual([5, 10]);
    expect(clock.now()).toBe(10);
    expect(await clock.run({ until: 10.4 })).toBe('reached');
    expect(await clock.run({ until: 50 })).toBe('reached');
    expect(clock.now()).toBe(50);
    expect(seen).toEqual([5, 10, 11]);
  });

  it('stops when a predicate comes true, before the first event too, and says when it never can', async () => {
    const clock = createVirtualClock(0);
    let count = 0;
    const again = (): void => {
      count += 1;
      clock.after(1, again);
    };
    clock.after(1, again);
    expect(await clock.run({ until: () => true })).toBe('reached');
    expect(count).toBe(0);
    expect(await clock.run({ until: () => count === 3 })).toBe('reached');
    expect(clock.now()).toBe(3);
    expect(await createVirtualClock(0).run({ until: () => false })).toBe('exhausted');
  });

  it('rejects with what a callback threw and can go on afterwards', async () => {
    const clock = createVirtualClock(0);
    let after = false;
    clock.at(1, () => {
      throw new TypeError('from the callback');
    });
    clock.at(2, () => {
      after = true;
    });
    await expect(clock.run()).rejects.toThrow('from the callback');
    expect(clock.now()).toBe(1);
    expect(after).toBe(false);
    await clock.run();
    expect(after).toBe(true);
  });

  it('awaits the gate once before each step of time and not between events of one time', async () => {
    const clock = createVirtualClock(0);
    const log: string[] = [];
    for (const at of [0, 4, 4, 9]) clock.at(at, () => log.push(`event ${clock.now()}`));
    await clock.run({
      gate: async (next) => {
        log.push(`gate ${next} at ${clock.now()}`);
        await new Promise((resolve) => setTimeout(resolve, 2));
      },
    });
    expect(log).toEqual(['event 0', 'gate 4 at 0', 'event 4', 'event 4', 'gate 9 at 4', 'event 9']);
  });

  it('respects an earlier event that turns up while the gate is awaited', async () => {
    const clock = createVirtualClock(0);
    const seen: number[] = [];
    clock.at(100, () => seen.push(clock.now()));
    let first = true;
    await clock.run({
      gate: async () => {
        await new Promise((resolve) => setImmediate(resolve));
        if (first) clock.at(50, () => seen.push(clock.now()));
        first = false;
      },
    });
    expect(seen).toEqual([50, 100]);
  });

  it('rejects when the gate does', async () => {
    const clock = createVirtualClock(0);
    clock.at(1, () => undefined);
    await expect(clock.run({ gate: () => Promise.reject(new Error('disk')) })).rejects.toThrow('disk');
    expect(clock.now()).toBe(0);
  });

  it('refuses a second run, a speed of zero and a time that is no number', async () => {
    const clock = createVirtualClock(0);
    clock.at(1, () => undefined);
    const run = clock.run();
    await expect(clock.run()).rejects.toThrow(RangeError);
    await run;
    await expect(clock.run({ speed: 0 })).rejects.toThrow(RangeError);
    await expect(clock.run({ speed: Number.NaN })).rejects.toThrow(RangeError);
    expect(() => clock.at(Number.NaN, () => undefined)).toThrow(RangeError);
    expect(() => clock.after(Number.POSITIVE_INFINITY, () => undefined)).toThrow(RangeError);
  });

  it('keeps the asked speed within bounds and follows real time while it waits', async () => {
    const clock = createVirtualClock(0);
    clock.at(2_000_000, () => undefined);
    const between: number[] = [];
    const watch = setInterval(() => between.push(clock.now()), 20);
    const begin = performance.now();
    await clock.run({ speed: 10 });
    clearInterval(watch);
    const elapsed = performance.now() - begin;
    expect(elapsed).toBeGreaterThan(198);
    expect(elapsed).toBeLessThan(1000);
    expect(between.some((now) => now > 0 && now < 2_000_000)).toBe(true);
    expect([...between].sort((a, b) => a - b)).toEqual(between);
  });

  it('sees an event from outside during a paced wait', async () => {
    const clock = createVirtualClock(0);
    const seen: number[] = [];
    clock.at(300_000, () => seen.push(clock.now()));
    setTimeout(() => clock.after(0, () => seen.push(clock.now())), 60);
    await clock.run({ speed: 1 });
    expect(seen).toHaveLength(2);
    expect(seen[0]).toBeGreaterThan(0);
    expect(seen[0]).toBeLessThan(300_000);
    expect(seen[1]).toBe(300_000);
  });

  it('gives the same order at every speed', async () => {
    const trace = async (speed: number): Promise<string[]> => {
      const clock = createVirtualClock(0);
      const seen: string[] = [];
      const wait = (delay: number): Promise<void> =>
        new Promise((resolve) => {
          clock.after(delay, resolve);
        });
      const worker = async (name: string, period: number): Promise<void> => {
        for (let step = 0; step < 20; step += 1) {
          await wait(period);
          seen.push(`${name} ${clock.now()}`);
        }
      };
      void worker('a', 3000);
      void worker('b', 2000);
      await clock.run({ speed });
      return seen;
    };
    const reference = await trace(Number.POSITIVE_INFINITY);
    expect(reference).toHaveLength(40);
    expect(await trace(3)).toEqual(reference);
    expect(await trace(500)).toEqual(reference);
  });

  it('takes a delay below zero for none, and does not run back for it', async () => {
    const clock = createVirtualClock(5_000);
    const seen: string[] = [];
    clock.after(0, () => seen.push(`first ${clock.now()}`));
    clock.after(-3_000, () => seen.push(`second ${clock.now()}`));
    clock.at(1_000, () => seen.push(`third ${clock.now()}`));
    await clock.run();
    expect(seen).toEqual(['first 5000', 'second 5000', 'third 5000']);
  });

  it('performs 40 000 events in well under two seconds', async () => {
    const clock = createVirtualClock(0);
    let count = 0;
    const again = (): void => {
      count += 1;
      if (count < 40_000) clock.after(50_000, again);
    };
    clock.after(0, again);
    const begin = performance.now();
    await clock.run();
    expect(count).toBe(40_000);
    expect(performance.now() - begin).toBeLessThan(2000);
  });
});
