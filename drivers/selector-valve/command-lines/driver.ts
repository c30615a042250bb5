import type { Cancellation } from '../../../src/device/cancellation.ts';
import type { DriverContext, DriverSession, PortSelector } from '../../../src/device/driver.ts';
import { createLineReceiver } from '../../../src/device/line-receiver.ts';
import { createRequestQueue } from '../../../src/device/request.ts';
import type { Verdict } from '../../../src/device/request.ts';
import { textToBytes } from '../../../src/model/bytes.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import { createSelectorValveCodec } from './codec.ts';
import type { ValveCommand, ValveMessage } from './codec.ts';
import type { SelectorValveSettings } from './manifest.ts';

interface Confirmed {
  readonly port: number;
  readonly atMicroseconds: number;
}

/**
 * Switches ports and believes only what the valve confirms. An acknowledgement that nothing waits for (late after a
 * time-out, or unasked) is reported as a problem and never taken for the answer to another port's request.
 */
export function openSelectorValve(context: DriverContext<SelectorValveSettings>): DriverSession {
  const { instrument, settings, sink, timers, transport } = context;
  const codec = createSelectorValveCodec(settings);
  const queue = createRequestQueue<ValveMessage>({
    instrument,
    label: transport.label,
    timers,
    write: (bytes) => {
      transport.write(bytes);
    },
  });

  const receiver = createLineReceiver({
    context,
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line, byteCount, atMicroseconds) {
      const message = codec.decode(line);
      if (message === undefined) {
        sink.problem(
          'line-undecodable',
          `${JSON.stringify(line)} is no answer of this valve`,
          byteCount,
          atMicroseconds,
        );
        return;
      }
      const reception = queue.offer(message, atMicroseconds);
      if (reception.taken === 'settled') {
        sink.understood(byteCount, atMicroseconds);
        return;
      }
      const why = reception.taken === 'late' ? `late answer to "${reception.command}"` : 'nothing waited for it';
      sink.problem('answer-unexpected', `${JSON.stringify(line)}: ${why}`, byteCount, atMicroseconds);
    },
  });

  const ask = (
    command: ValveCommand,
    judge: (message: ValveMessage, atMicroseconds: number) => Verdict<Confirmed>,
    cancellation: Cancellation | undefined,
  ): Promise<Confirmed> => {
    const line = codec.encodeCommand(command);
    return queue.ask({
      command: line,
      bytes: textToBytes(line + settings.terminator),
      judge: (message, atMicroseconds) =>
        message.message === 'refused' ? { verdict: 'refused', detail: message.text } : judge(message, atMicroseconds),
      timeoutSeconds: settings.acknowledgeTimeoutSeconds,
      cancellation,
    });
  };

  const askPosition = (cancellation: Cancellation | undefined): Promise<Confirmed> =>
    ask(
      { command: 'query' },
      (message, atMicroseconds) =>
        message.message === 'position'
          ? { verdict: 'answer', answer: { port: message.port, atMicroseconds } }
          : { verdict: 'unrelated' },
      cancellation,
    );

  const selector: PortSelector = {
    async select(port, cancellation) {
      if (!Number.isInteger(port) || port < 1 || port > settings.ports) {
        throw new ChambersideError(
          'request-refused',
          `${instrument}: there is no port ${port}`,
          `${instrument}, ${transport.label}`,
          `Ask for a port from 1 to ${settings.ports}, or correct the number of ports in the rig.`,
        );
      }
      const confirmed = await ask(
        { command: 'select', port },
        (message, atMicroseconds) => {
          if (message.message !== 'acknowledged') return { verdict: 'unrelated' };
          return message.port === port
            ? { verdict: 'answer', answer: { port, atMicroseconds } }
            : { verdict: 'unexpected', detail: `it acknowledged port ${message.port}` };
        },
        cancellation,
      );
      if (settings.confirmByQuery) {
        const stands = await askPosition(cancellation);
        if (stands.port !== port) {
          throw new ChambersideError(
            'answer-unexpected',
            `${instrument}: it acknowledged port ${port} and then said that it stands at ${stands.port}`,
            `${instrument}, ${transport.label}`,
            'Look at the valve; ask for the port again.',
          );
        }
      }
      return { atMicroseconds: confirmed.atMicroseconds };
    },
    position: (cancellation) => askPosition(cancellation),
  };

  let ended = false;
  const finish = (reason: string): void => {
    if (ended) return;
    ended = true;
    queue.end(reason);
    receiver.end();
  };
  transport.onBytes((bytes, atMicroseconds) => {
    receiver.receive(bytes, atMicroseconds);
  });
  transport.onClose(finish);
  return {
    selector,
    get accountedBytes() {
      return receiver.accountedBytes;
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
