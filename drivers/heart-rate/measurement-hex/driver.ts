import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { createLineReceiver } from '../../../src/device/line-receiver.ts';
import { createSilenceWatch } from '../../../src/device/silence-watch.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { decodeLine } from './codec.ts';
import type { HeartRateSettings } from './manifest.ts';

/**
 * Listens to the receiver of a belt. While the belt says that it has no contact with the body there are no readings,
 * neither of heart rate nor of RR intervals: what it sends then is left over from before, or noise.
 */
export function openHeartRate(context: DriverContext<HeartRateSettings>): DriverSession {
  const { settings, sink, timers, transport } = context;
  const silence = createSilenceWatch({
    timers,
    limitMicroseconds: toMicroseconds(settings.silenceLimitSeconds),
    beginsAtMicroseconds: context.openedAtMicroseconds,
    onSilence(atMicroseconds) {
      sink.problem('silence', `no heart rate for ${settings.silenceLimitSeconds} s`, 0, atMicroseconds);
    },
  });

  const deliver = (
    stream: string,
    value: number,
    unit: string,
    low: number | null,
    high: number | null,
    atMicroseconds: number,
  ): void => {
    if ((low !== null && value < low) || (high !== null && value > high)) {
      const limits = `${low ?? 'no limit'} to ${high ?? 'no limit'} ${unit}`;
      sink.problem('reading-out-of-range', `${stream} ${value} ${unit} lies outside ${limits}`, 0, atMicroseconds);
    }
    sink.reading(stream, value, atMicroseconds);
  };

  const receiver = createLineReceiver({
    context,
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line, byteCount, atMicroseconds) {
      const decoded = decodeLine(line);
      if (decoded.decoded === 'problem') {
        sink.problem(decoded.code, decoded.detail, byteCount, atMicroseconds);
        return;
      }
      const { heartRate, contact, energyKilojoules, rrIntervalsMilliseconds } = decoded.measurement;
      if (contact === 'lost') {
        const detail = `the belt has no contact; it says ${heartRate} per minute`;
        sink.problem('contact-lost', detail, byteCount, atMicroseconds);
      } else {
        const { plausibleLow, plausibleHigh, plausibleRrLow, plausibleRrHigh } = settings;
        silence.heard(atMicroseconds);
        deliver('heart-rate', heartRate, 'per minute', plausibleLow, plausibleHigh, atMicroseconds);
        for (const interval of rrIntervalsMilliseconds) {
          deliver('rr-interval', interval, 'ms', plausibleRrLow, plausibleRrHigh, atMicroseconds);
        }
      }
      if (energyKilojoules !== undefined) sink.reading('energy', energyKilojoules, atMicroseconds);
    },
  });

  let ended = false;
  const finish = (): void => {
    if (ended) return;
    ended = true;
    silence.end();
    receiver.end();
  };
  transport.onBytes((bytes, atMicroseconds) => {
    silence.begin(atMicroseconds);
    receiver.receive(bytes, atMicroseconds);
  });
  transport.onClose(finish);
  return {
    get accountedBytes() {
      return receiver.accountedBytes;
    },
    end: finish,
  };
}
