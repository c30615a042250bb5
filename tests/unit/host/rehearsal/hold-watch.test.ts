import { describe, expect, it } from 'vitest';
import { mostHolds, watchHolds } from '../../../../src/host/rehearsal/hold-watch.ts';
import type { ChambersideError } from '../../../../src/model/error-code.ts';
import type { TrialEvent } from '../../../../src/model/trial-event.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const second = 1_000_000;
const held = (to: 'stopped' | 'held' | 'running', atMicroseconds: number): TrialEvent => ({
  kind: 'phase-changed',
  atMicroseconds,
  from: to === 'held' ? 'running' : 'held',
  to,
  reason: 'the challenge is unsteady',
  machine: null,
});

describe('the operator of a rehearsal', () => {
  it('closes a trial that the subject has stopped', async () => {
    const timers = createFakeClock();
    const closed: number[] = [];
    const observe = watchHolds({
      trial: 't-1',
      timers,
      goOn: () => expect.unreachable('nobody goes on'),
      close: () => closed.push(timers.now()),
      onGivenUp: () => expect.unreachable('nothing is given up'),
    });
    observe(held('stopped', 0));
    await timers.advanceTo(60 * second);
    expect(closed).toEqual([5 * second]);
  });

  it('goes on 5 s after every hold, gives up after twenty, and says why and what to do', async () => {
    const timers = createFakeClock();
    const wentOn: number[] = [];
    const closed: number[] = [];
    const errors: ChambersideError[] = [];
    const observe = watchHolds({
      trial: 't-1',
      timers,
      goOn: () => wentOn.push(timers.now()),
      close: () => closed.push(timers.now()),
      onGivenUp: (error) => errors.push(error),
    });
    for (let hold = 1; hold <= mostHolds; hold += 1) {
      observe(held('held', timers.now()));
      observe(held('running', timers.now()));
      await timers.advanceTo(10 * second * hold);
    }
    expect(wentOn).toEqual(Array.from({ length: mostHolds }, (_, index) => (10 * index + 5) * second));
    expect(errors).toEqual([]);
    observe(held('held', timers.now()));
    await timers.advanceTo(timers.now() + 10 * second);
    expect(wentOn).toHaveLength(mostHolds);
    expect(errors).toMatchObject([{ code: 'trial-not-finished', where: 't-1' }]);
    expect(errors[0]?.message).toContain('21 times, at last because: the challenge is unsteady');
    expect(errors[0]?.remedy).toContain('--resume');
    expect(closed).toEqual([]);
    expect(errors[0]?.remedy).not.toContain('unsteady');
  });
});
