import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { withLimits } from '../../framing/quantity.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { beatLineQuantities, beatQuantities, createBeatAverage, createBeatCodec } from './codec.ts';
import type { BeatSettings } from './manifest.ts';

/**
 * Listens to a receiver that prints each interval between two beats. An interval outside its limits (a beat that was
 * missed, or two made of one) is kept and reported, and neither it nor what was before goes into a heart rate.
 */
export function openBeats(context: DriverContext<BeatSettings>): DriverSession {
  const { settings } = context;
  const average = createBeatAverage(settings.averageBeats);
  const [interval] = beatLineQuantities.map((quantity) => withLimits(quantity, settings.plausible));
  const low = Math.max(0, interval?.plausibleLow ?? 0);
  const high = interval?.plausibleHigh ?? Number.POSITIVE_INFINITY;
  let lastAt: number | undefined;
  return openValueLines({
    context,
    codec: createBeatCodec(settings),
    quantities: beatQuantities,
    readingsOf(values, atMicroseconds) {
      const silent = lastAt !== undefined && atMicroseconds - lastAt > toMicroseconds(settings.silenceLimitSeconds);
      if (silent) average.forget();
      lastAt = atMicroseconds;
      const beat = values.get('rr-interval') ?? 0;
      if (beat <= 0 || beat < low || beat > high) {
        average.forget();
        return values;
      }
      return new Map([['heart-rate', average.add(beat)], ...values]);
    },
    onBreak() {
      average.forget();
    },
  });
}
