import { describe, expect, it } from 'vitest';
import { everyInterval } from '../../../../drivers/simulation/grid.ts';
import { createManualClock } from '../../../contract/drivers/support.ts';

describe('interval grid', () => {
  it('is absolute with timers that tell the time: lateness is not passed on', () => {
    const clock = createManualClock(1_000);
    const late = {
      ...clock,
      now: () => clock.now(),
      at: (at: number, callback: () => void) => clock.at(at + 30, callback),
    };
    const calls: number[] = [];
    const cancel = everyInterval(late, 100, () => calls.push(clock.now()));
    clock.advance(550);
    expect(calls).toEqual([1_130, 1_230, 1_330, 1_430, 1_530]);
    cancel();
    expect(clock.timerCount).toBe(0);
  });

  it('counts from call to call with plain timers', () => {
    const clock = createManualClock();
    const calls: number[] = [];
    const cancel = everyInterval({ after: (delay, callback) => clock.after(delay, callback) }, 100, () =>
      calls.push(clock.now()),
    );
    clock.advance(350);
    expect(calls).toEqual([100, 200, 300]);
    cancel();
    expect(clock.timerCount).toBe(0);
  });

  it('can be stopped from inside its own call', () => {
    const clock = createManualClock();
    let count = 0;
    const cancel = everyInterval(clock, 10, () => {
      count += 1;
      if (count === 3) cancel();
    });
    clock.advance(1_000);
    expect(count).toBe(3);
    expect(clock.timerCount).toBe(0);
  });

  it.each([0, -1, Number.NaN])('refuses the interval %d', (interval) => {
    expect(() => everyInterval(createManualClock(), interval, () => undefined)).toThrow(RangeError);
  });
});
