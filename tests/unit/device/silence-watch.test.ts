import { describe, expect, it } from 'vitest';
import { createSilenceWatch } from '../../../src/device/silence-watch.ts';
import { createManualClock } from '../../contract/drivers/support.ts';

function watchFrom(beginsAtMicroseconds: number | undefined) {
  const clock = createManualClock(500);
  const silences: number[] = [];
  const watch = createSilenceWatch({
    timers: clock,
    limitMicroseconds: 1_000,
    beginsAtMicroseconds,
    onSilence: (at) => silences.push(at),
  });
  return { clock, silences, watch };
}

describe('silence watch', () => {
  it('is quiet as long as something comes within the limit, with one timer at most', () => {
    const { clock, silences, watch } = watchFrom(500);
    for (let count = 0; count < 50; count += 1) {
      clock.advance(999);
      watch.heard(clock.now());
      expect(clock.timerCount).toBe(1);
    }
    expect(silences).toEqual([]);
  });

  it('speaks once, at the moment when the limit is reached', () => {
    const { clock, silences, watch } = watchFrom(500);
    clock.advance(400);
    watch.heard(900);
    clock.advance(10_000);
    expect(silences).toEqual([1_900]);
    expect(clock.timerCount).toBe(0);
    watch.heard(clock.now());
    clock.advance(10_000);
    expect(silences).toEqual([1_900, 11_900]);
  });

  it('waits for a beginning that nobody told it', () => {
    const { clock, silences, watch } = watchFrom(undefined);
    clock.advance(50_000);
    expect(clock.timerCount).toBe(0);
    watch.begin(clock.now());
    watch.begin(clock.now() + 1);
    clock.advance(5_000);
    expect(silences).toEqual([51_500]);
    watch.begin(clock.now());
    expect(clock.timerCount).toBe(0);
  });

  it('leaves no timer behind and cannot be started again', () => {
    const { clock, silences, watch } = watchFrom(500);
    watch.end();
    watch.heard(600);
    watch.begin(600);
    expect(clock.timerCount).toBe(0);
    clock.advance(1e6);
    expect(silences).toEqual([]);
  });
});
