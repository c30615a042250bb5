import type { DriverContext } from '../../src/device/driver.ts';
import { createSilenceWatch } from '../../src/device/silence-watch.ts';
import type { SilenceWatch } from '../../src/device/silence-watch.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import { units } from '../../src/model/unit.ts';
import { withLimits } from './quantity.ts';
import type { Quantity, Rhythm } from './quantity.ts';

/** Hands readings to the sink, says which lie outside their limits, and watches that they keep coming. */
export interface Delivery {
  deliver(values: ReadonlyMap<string, number>, atMicroseconds: number): void;
  /** Bytes came: silence counts from here at the latest. */
  begin(atMicroseconds: number): void;
  end(): void;
}

export function createDelivery(
  context: Pick<DriverContext<unknown>, 'sink' | 'timers' | 'openedAtMicroseconds'>,
  quantities: readonly Quantity[],
  rhythm: Rhythm,
): Delivery {
  const { sink, timers } = context;
  const limited = new Map(
    quantities.map((quantity) => [quantity.stream, withLimits(quantity, rhythm.plausible)] as const),
  );
  const silence: SilenceWatch = createSilenceWatch({
    timers,
    limitMicroseconds: toMicroseconds(rhythm.silenceLimitSeconds),
    beginsAtMicroseconds: context.openedAtMicroseconds,
    onSilence(atMicroseconds) {
      sink.problem('silence', `no reading for ${rhythm.silenceLimitSeconds} s`, 0, atMicroseconds);
    },
  });
  return {
    deliver(values, atMicroseconds) {
      silence.heard(atMicroseconds);
      for (const [stream, value] of values) {
        const quantity = limited.get(stream);
        if (quantity === undefined) continue;
        const { plausibleLow: low, plausibleHigh: high } = quantity;
        if ((low !== null && value < low) || (high !== null && value > high)) {
          const { symbol } = units[quantity.unit];
          const limits = `${low ?? 'no limit'} to ${high ?? 'no limit'} ${symbol}`;
          sink.problem('reading-out-of-range', `${stream} ${value} lies outside ${limits}`, 0, atMicroseconds);
        }
        sink.reading(stream, value, atMicroseconds);
      }
    },
    begin(atMicroseconds) {
      silence.begin(atMicroseconds);
    },
    end() {
      silence.end();
    },
  };
}
