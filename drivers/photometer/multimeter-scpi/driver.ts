import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { createLineReceiver } from '../../../src/device/line-receiver.ts';
import { createRequestQueue } from '../../../src/device/request.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { textToBytes } from '../../../src/model/bytes.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { shown } from '../../framing/decimal.ts';
import { createDelivery } from '../../framing/deliver.ts';
import {
  concentrationOf,
  decodeAnswer,
  errorCommand,
  identifyCommand,
  multimeterQuantities,
  undecodable,
} from './codec.ts';
import type { MultimeterAnswer } from './codec.ts';
import type { MultimeterSettings } from './manifest.ts';

/** Most errors that are read from the queue at once: it may be filled as fast as it is emptied. */
const mostErrors = 20;

type Wanted = 'volts' | 'identification' | 'error';

const isWanted = (answer: MultimeterAnswer, wanted: Wanted): boolean =>
  answer.answer === wanted || (wanted === 'volts' && answer.answer === 'no-value');

/**
 * Identifies a multimeter, empties its error queue, and asks it for a voltage at a fixed interval. What it says is no
 * value (9.91E37, ±9.9E37) gives a problem and never a reading. After an answer that was none, or did not come, it is
 * asked what its error is.
 */
export function openMultimeter(context: DriverContext<MultimeterSettings>): DriverSession {
  const { instrument, settings, sink, timers, transport } = context;
  const asks = settings.intervalSeconds !== null;
  const delivery = createDelivery(context, multimeterQuantities(settings), {
    expectedIntervalSeconds: settings.intervalSeconds,
    silenceLimitSeconds: settings.silenceLimitSeconds,
    plausible: {},
  });
  const queue = createRequestQueue<MultimeterAnswer>({
    instrument,
    label: transport.label,
    timers,
    write: (bytes) => {
      transport.write(bytes);
    },
  });
  let suspicious = false;
  let ended = false;
  let cancelPoll: Cancel | undefined;

  const take = (answer: MultimeterAnswer, byteCount: number, atMicroseconds: number): void => {
    switch (answer.answer) {
      case 'volts': {
        const { volts } = answer;
        const concentration = concentrationOf(volts, settings);
        if (!Number.isFinite(concentration)) {
          sink.problem('line-undecodable', `${volts} V is no concentration`, byteCount, atMicroseconds);
          return;
        }
        const values = new Map([
          ['concentration', concentration + 0],
          ['voltage', volts],
        ]);
        delivery.deliver(values, atMicroseconds);
        return;
      }
      case 'no-value':
        sink.problem('status-bad', answer.detail, byteCount, atMicroseconds);
        return;
      case 'identification':
        sink.understood(byteCount, atMicroseconds);
        return;
      case 'error':
        if (answer.code === 0) sink.understood(byteCount, atMicroseconds);
        else sink.problem('status-bad', `its error ${answer.code}: ${answer.text}`, byteCount, atMicroseconds);
    }
  };

  const receiver = createLineReceiver({
    context,
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line, byteCount, atMicroseconds) {
      const answer = decodeAnswer(line);
      if (answer === undefined) {
        suspicious = true;
        const { code, detail } = undecodable(line);
        sink.problem(code, detail, byteCount, atMicroseconds);
        return;
      }
      // To one who only listens each line says what it is.
      if (!asks || queue.offer(answer, atMicroseconds).taken === 'settled') take(answer, byteCount, atMicroseconds);
      else sink.problem('answer-unexpected', `${shown(line)} came unasked`, byteCount, atMicroseconds);
    },
  });

  const ask = (command: string, wanted: Wanted): Promise<MultimeterAnswer> =>
    queue.ask<MultimeterAnswer>({
      command,
      bytes: textToBytes(command + settings.terminator),
      judge: (answer) => (isWanted(answer, wanted) ? { verdict: 'answer', answer } : { verdict: 'unrelated' }),
      timeoutSeconds: settings.timeoutSeconds,
    });

  /** Each error was reported as it came. */
  const readErrors = async (): Promise<void> => {
    for (let count = 0; count < mostErrors; count += 1) {
      const answer = await ask(errorCommand, 'error');
      if (answer.answer !== 'error' || answer.code === 0) return;
    }
  };
  const begin = async (): Promise<void> => {
    for (const command of settings.setup) transport.write(textToBytes(command + settings.terminator));
    await ask(identifyCommand, 'identification').catch(() => undefined);
    await readErrors();
  };
  const lookAgain = (): void => {
    // Not lost: an instrument that stays dumb is reported by the silence watch, with its time.
    suspicious = true;
  };

  const askEachInterval = (seconds: number): void => {
    cancelPoll = timers.after(toMicroseconds(seconds), () => {
      askEachInterval(seconds);
      if (queue.pendingCount > 0) return;
      if (suspicious) {
        suspicious = false;
        readErrors().catch(() => undefined);
      }
      ask(settings.query, 'volts').catch(lookAgain);
    });
  };

  const finish = (reason: string): void => {
    if (ended) return;
    ended = true;
    cancelPoll?.();
    delivery.end();
    queue.end(reason);
    receiver.end();
  };
  transport.onBytes((bytes, atMicroseconds) => {
    delivery.begin(atMicroseconds);
    receiver.receive(bytes, atMicroseconds);
  });
  transport.onClose(finish);
  if (settings.intervalSeconds !== null) {
    begin().catch(() => undefined);
    askEachInterval(settings.intervalSeconds);
  }
  return {
    get accountedBytes() {
      return receiver.accountedBytes;
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
