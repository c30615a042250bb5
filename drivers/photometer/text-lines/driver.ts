import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { createLineReceiver } from '../../../src/device/line-receiver.ts';
import { createRequestQueue } from '../../../src/device/request.ts';
import { createSilenceWatch } from '../../../src/device/silence-watch.ts';
import { textToBytes } from '../../../src/model/bytes.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { createPhotometerCodec } from './codec.ts';
import type { DecodedLine } from './codec.ts';
import type { PhotometerSettings } from './manifest.ts';

/**
 * Listens to a photometer, or asks it at a fixed interval when `settings.poll` says so. A line whose status is not
 * good, whose checksum is wrong or whose number is none gives a problem and never a reading. When polled, a line
 * that nobody asked for gives a problem too: it may be the answer to a question that was given up, and its value
 * would then be older than its stamp.
 */
export function openPhotometer(context: DriverContext<PhotometerSettings>): DriverSession {
  const { instrument, settings, sink, timers, transport } = context;
  const codec = createPhotometerCodec(settings);
  const silence = createSilenceWatch({
    timers,
    limitMicroseconds: toMicroseconds(settings.silenceLimitSeconds),
    beginsAtMicroseconds: context.openedAtMicroseconds,
    onSilence(atMicroseconds) {
      sink.problem('silence', `no reading for ${settings.silenceLimitSeconds} s`, 0, atMicroseconds);
    },
  });
  const queue = createRequestQueue<DecodedLine>({
    instrument,
    label: transport.label,
    timers,
    write: (bytes) => {
      transport.write(bytes);
    },
  });
  let cancelPoll: Cancel | undefined;

  const deliver = (value: number, atMicroseconds: number): void => {
    silence.heard(atMicroseconds);
    const { plausibleLow, plausibleHigh, unit } = settings;
    if ((plausibleLow !== null && value < plausibleLow) || (plausibleHigh !== null && value > plausibleHigh)) {
      const limits = `${plausibleLow ?? 'no limit'} to ${plausibleHigh ?? 'no limit'} ${unit}`;
      sink.problem('reading-out-of-range', `${value} ${unit} lies outside ${limits}`, 0, atMicroseconds);
    }
    sink.reading('concentration', value, atMicroseconds);
  };

  const receiver = createLineReceiver({
    context,
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line, byteCount, atMicroseconds) {
      const decoded = codec.decode(line);
      // A line with a problem is an answer too: asking again before the interval would not make it better.
      const isAnswer = decoded.decoded === 'value' || decoded.code === 'status-bad';
      const asked = settings.poll === null || (isAnswer && queue.offer(decoded, atMicroseconds).taken === 'settled');
      if (decoded.decoded === 'problem') {
        sink.problem(decoded.code, decoded.detail, byteCount, atMicroseconds);
      } else if (asked) {
        deliver(decoded.value, atMicroseconds);
      } else {
        sink.problem('answer-unexpected', `${decoded.value} ${settings.unit} came unasked`, byteCount, atMicroseconds);
      }
    },
  });

  const { poll } = settings;
  const askEachInterval = (question: NonNullable<typeof poll>): void => {
    cancelPoll = timers.after(toMicroseconds(question.intervalSeconds), () => {
      askEachInterval(question);
      if (queue.pendingCount > 0) return;
      void queue
        .ask({
          command: question.command,
          bytes: textToBytes(question.command + settings.terminator),
          judge: (message) => ({ verdict: 'answer', answer: message }),
          timeoutSeconds: question.timeoutSeconds,
        })
        .catch(() => {
          // Not lost: an instrument that stays dumb is reported by the silence watch, with its time.
        });
    });
  };

  let ended = false;
  const finish = (reason: string): void => {
    if (ended) return;
    ended = true;
    cancelPoll?.();
    silence.end();
    queue.end(reason);
    receiver.end();
  };
  transport.onBytes((bytes, atMicroseconds) => {
    silence.begin(atMicroseconds);
    receiver.receive(bytes, atMicroseconds);
  });
  transport.onClose(finish);
  if (poll !== null) askEachInterval(poll);
  return {
    get accountedBytes() {
      return receiver.accountedBytes;
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
