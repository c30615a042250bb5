import { expect, it } from 'vitest';
import type { Clock } from '../../../../src/device/timers.ts';
import { createReplayDesk } from '../../../../src/host/replay/replay-desk.ts';
import { firstMethod } from '../../../../src/leakage/default-method.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';
import { syntheticTrial } from '../../../support/synthetic-trial.ts';

const { record } = syntheticTrial({ exercises: 1, dwellsPerProbe: 1 });

it('stands at the very end, all readings told, however long each look takes', async () => {
  for (const lookMicroseconds of [0, 3_000, 20_000]) {
    const fake = createFakeClock();
    /** Time goes on while the program works: every asking is later than the one before. */
    const clock: Clock = {
      ...fake,
      now() {
        fake.sleepTo(fake.now() + lookMicroseconds);
        return fake.now();
      },
    };
    let readings = 0;
    let rate: number | undefined;
    const shown: (number | undefined)[] = [];
    const desk = createReplayDesk({
      clock,
      hub: {
        begin: () => undefined,
        setBase: (base) => (rate = base?.rate),
        push: () => (readings += 1),
        end: () => undefined,
      },
      read: () => Promise.resolve({ record, method: firstMethod }),
      onChange: () => shown.push(desk.view()?.playing === false ? desk.view()?.atMicroseconds : undefined),
      onEnd: () => undefined,
    });
    await desk.begin('synthetic.chamberside', 't-1');
    const ends = desk.view()?.endsAtMicroseconds ?? 0;
    const from = ends - 1_000_000;
    desk.change({ atMicroseconds: from, playing: true });
    await fake.runWhile(() => true);
    expect(desk.view()).toMatchObject({ playing: false, atMicroseconds: ends });
    // What windows were told last is that.
    expect(shown.at(-1)).toBe(ends);
    expect(rate).toBe(0);
    const between = record.streams.flatMap(({ atMicroseconds }) =>
      [...atMicroseconds].filter((at) => from <= at && at < ends),
    );
    expect(readings).toBe(between.length);
  }
});
