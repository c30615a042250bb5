import { describe, expect, it } from 'vitest';
import { createClockOffset } from '../../../../renderer/app/clock-offset.ts';

describe('the offset of the window clock', () => {
  it('is not known before the first answer', () => {
    expect(createClockOffset().milliseconds).toBeNull();
  });

  it('is that of the quickest of the last answers', () => {
    const offset = createClockOffset();
    // The window is 1000 ms ahead; the way there takes the first figure, the way back the second.
    for (const [there, back] of [
      [40, 2],
      [1, 1],
      [3, 90],
    ] as const) {
      offset.take(5_000, 5_000 + there + back, 4_000 + there);
    }
    expect(offset.milliseconds).toBe(1_000);
  });

  it('forgets what is long past, because clocks drift', () => {
    const offset = createClockOffset();
    offset.take(0, 1, 0.5);
    for (let call = 0; call < 8; call += 1) offset.take(100, 110, 5);
    expect(offset.milliseconds).toBe(100);
  });
});
