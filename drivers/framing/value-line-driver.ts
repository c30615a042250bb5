import type { Actuator, DriverContext, DriverSession, OutputDescriptor } from '../../src/device/driver.ts';
import { createLineReceiver } from '../../src/device/line-receiver.ts';
import { createRequestQueue } from '../../src/device/request.ts';
import type { Cancel } from '../../src/device/timers.ts';
import { textToBytes } from '../../src/model/bytes.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import { parseDecimal, shown } from './decimal.ts';
import { createDelivery } from './deliver.ts';
import { requireOutput } from './outputs.ts';
import type { Quantity } from './quantity.ts';
import { compileTemplate } from './template.ts';
import type { DecodedValues, ValueLineCodec, ValueLineSettings, ValueWords } from './value-line.ts';

/** An output that is set by a line and acknowledged by a line. */
export interface LineOutput extends OutputDescriptor {
  /** Templates with {value}. */
  readonly command: string;
  readonly acknowledge: string;
  /** How the value is written: as a number, or as a word. */
  readonly decimals: number;
  readonly words?: ValueWords;
}

export interface ValueLineDriver<Settings extends ValueLineSettings> {
  readonly context: DriverContext<Settings>;
  readonly codec: ValueLineCodec;
  readonly quantities: readonly Quantity[];
  /** Makes the readings of a line from its values. Default: the values. */
  readonly readingsOf?: (values: ReadonlyMap<string, number>, atMicroseconds: number) => ReadonlyMap<string, number>;
  /** What was heard does not hang together with what comes: a line was bad, or nothing came. */
  readonly onBreak?: () => void;
  readonly outputs?: {
    readonly outputs: readonly LineOutput[];
    /** Template of a line that says that it will not; {any} is its reason. */
    readonly refusal: string;
    readonly timeoutSeconds: number;
  };
}

type Message =
  | { readonly message: 'values'; readonly decoded: DecodedValues }
  | { readonly message: 'acknowledged'; readonly output: string; readonly value: number }
  | { readonly message: 'refused'; readonly text: string };

/**
 * Listens to an instrument that prints lines of values, or asks it at a fixed interval when `settings.poll` says so,
 * and sets its outputs where it has any. When polled, a line that nobody asked for is a problem: it may be the answer
 * to a question that was given up.
 */
export function openValueLines<Settings extends ValueLineSettings>(driver: ValueLineDriver<Settings>): DriverSession {
  const { context, codec, quantities } = driver;
  const { instrument, settings, sink, timers, transport } = context;
  const delivery = createDelivery(context, quantities, settings);
  const outputs = (driver.outputs?.outputs ?? []).map((output) => ({
    ...output,
    commandTemplate: compileTemplate(output.command, ['value', 'any']),
    acknowledgeTemplate: compileTemplate(output.acknowledge, ['value', 'any']),
  }));
  const refusal = driver.outputs === undefined ? undefined : compileTemplate(driver.outputs.refusal, ['any']);
  const queue = createRequestQueue<Message>({
    instrument,
    label: transport.label,
    timers,
    write: (bytes) => {
      transport.write(bytes);
    },
  });
  let cancelPoll: Cancel | undefined;

  const readValue = (text: string, words: ValueWords | undefined): number | undefined =>
    words === undefined ? parseDecimal(text, settings.decimalMark) : words.read(text);

  /** An answer to a command; undefined for a line of values. */
  const answerIn = (line: string): Message | undefined => {
    for (const { output, acknowledgeTemplate, words } of outputs) {
      const text = acknowledgeTemplate.match(line)?.['value']?.text;
      const value = text === undefined ? undefined : readValue(text, words);
      if (value !== undefined) return { message: 'acknowledged', output, value };
    }
    return refusal?.match(line) === undefined ? undefined : { message: 'refused', text: line.trim() };
  };

  const onValues = (line: string, byteCount: number, atMicroseconds: number): void => {
    const decoded = codec.decode(line);
    // A line with a problem is an answer too: asking again before the interval would not make it better.
    const isAnswer = decoded.decoded === 'values' || decoded.code === 'status-bad';
    const asked =
      settings.poll === null ||
      (isAnswer && queue.offer({ message: 'values', decoded }, atMicroseconds).taken === 'settled');
    if (decoded.decoded === 'problem') {
      driver.onBreak?.();
      sink.problem(decoded.code, decoded.detail, byteCount, atMicroseconds);
    } else if (asked) {
      const { values } = decoded;
      delivery.deliver(driver.readingsOf?.(values, atMicroseconds) ?? values, atMicroseconds);
    } else {
      sink.problem('answer-unexpected', `${shown(line)} came unasked`, byteCount, atMicroseconds);
    }
  };

  const receiver = createLineReceiver({
    context,
    delimiter: settings.terminator,
    capBytes: settings.longestLineBytes,
    onLine(line, byteCount, atMicroseconds) {
      const answer = answerIn(line);
      if (answer === undefined) {
        onValues(line, byteCount, atMicroseconds);
        return;
      }
      const reception = queue.offer(answer, atMicroseconds);
      if (reception.taken === 'settled') {
        sink.understood(byteCount, atMicroseconds);
        return;
      }
      const why = reception.taken === 'late' ? `late answer to "${reception.command}"` : 'nothing waited for it';
      sink.problem('answer-unexpected', `${shown(line)}: ${why}`, byteCount, atMicroseconds);
    },
  });

  const { poll } = settings;
  const askEachInterval = (question: NonNullable<typeof poll>): void => {
    cancelPoll = timers.after(toMicroseconds(question.intervalSeconds), () => {
      askEachInterval(question);
      if (queue.pendingCount > 0) return;
      void queue
        .ask<true>({
          command: question.command,
          bytes: textToBytes(question.command + settings.terminator),
          judge: ({ message }) =>
            message === 'values' ? { verdict: 'answer', answer: true } : { verdict: 'unrelated' },
          timeoutSeconds: question.timeoutSeconds,
        })
        .catch(() => {
          // Not lost: an instrument that stays dumb is reported by the silence watch, with its time.
        });
    });
  };

  const actuator: Actuator = {
    outputs,
    async set(name, value, cancellation) {
      const output = requireOutput(outputs, name, value, { instrument, label: transport.label });
      const { decimals, words } = output;
      const text = words?.write(value) ?? value.toFixed(decimals).replace('.', settings.decimalMark);
      const written = readValue(text, words);
      const command = output.commandTemplate.format({ value: text });
      return queue.ask<{ readonly atMicroseconds: number }>({
        command,
        bytes: textToBytes(command + settings.terminator),
        judge(message, atMicroseconds) {
          if (message.message === 'refused') return { verdict: 'refused', detail: message.text };
          if (message.message !== 'acknowledged' || message.output !== name) return { verdict: 'unrelated' };
          return message.value === written
            ? { verdict: 'answer', answer: { atMicroseconds } }
            : { verdict: 'unexpected', detail: `it set ${name} to ${message.value}` };
        },
        timeoutSeconds: driver.outputs?.timeoutSeconds ?? 1,
        cancellation,
      });
    },
  };

  let ended = false;
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
  if (poll !== null) askEachInterval(poll);
  return {
    ...(outputs.length > 0 ? { actuator } : {}),
    get accountedBytes() {
      return receiver.accountedBytes;
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
