import type { Actuator, DriverContext, DriverSession, OutputDescriptor } from '../../src/device/driver.ts';
import { ChambersideError } from '../../src/model/error-code.ts';
import type { Cancel } from '../../src/device/timers.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import { createDelivery } from './deliver.ts';
import { createModbusClient } from './modbus-client.ts';
import type { ModbusData } from './modbus-client.ts';
import type { ModbusRequest } from './modbus-rtu.ts';
import type { ModbusSettings } from './modbus-settings.ts';
import { requireOutput } from './outputs.ts';
import type { Quantity, Rhythm } from './quantity.ts';

/** Settings of an instrument on a Modbus line that is asked at intervals. */
export interface ModbusPollSettings extends ModbusSettings {
  /** Between two questions, s; null asks nothing, for one who only listens. */
  readonly intervalSeconds: number | null;
  readonly silenceLimitSeconds: number;
  readonly plausible: Rhythm['plausible'];
}

/** What all answers of one round say. */
export type RoundReading =
  | { readonly read: 'values'; readonly values: ReadonlyMap<string, number> }
  /** The instrument itself doubts it, or a value is no number. */
  | { readonly read: 'doubt'; readonly detail: string };

/** An output that is written, and read back before it is believed. */
export interface ModbusOutput extends OutputDescriptor {
  readonly write: (value: number) => ModbusRequest;
  readonly readBack: ModbusRequest;
  readonly isSet: (answer: ModbusData, value: number) => boolean;
}

export interface ModbusPollDriver<Settings extends ModbusPollSettings> {
  readonly context: DriverContext<Settings>;
  readonly quantities: readonly Quantity[];
  /** One round: all of them, one after the other. Two of them are never the same. */
  readonly requests: readonly ModbusRequest[];
  /** Reads a whole round, answers in the order of the requests. Must not throw. */
  readonly read: (answers: readonly ModbusData[], atMicroseconds: number) => RoundReading;
  readonly outputs?: readonly ModbusOutput[];
}

/** The rhythm of the readings of such an instrument. */
export const pollRhythm = (settings: ModbusPollSettings): Rhythm => ({
  expectedIntervalSeconds: settings.intervalSeconds,
  silenceLimitSeconds: settings.silenceLimitSeconds,
  plausible: settings.plausible,
});

const isSame = (one: ModbusRequest, other: ModbusRequest): boolean => JSON.stringify(one) === JSON.stringify(other);

/**
 * Asks a slave at a fixed interval and makes readings of each whole round, with the stamp of the answer that completed
 * it. A round of which one answer is missing, or is an exception, gives no reading.
 */
export function openModbusPoll<Settings extends ModbusPollSettings>(driver: ModbusPollDriver<Settings>): DriverSession {
  const { context, quantities, requests, read } = driver;
  const { instrument, settings, sink, timers, transport } = context;
  const delivery = createDelivery(context, quantities, pollRhythm(settings));
  let round: (ModbusData | undefined)[] = [];

  const client = createModbusClient({
    context,
    onAnswer(request, answer, byteCount, atMicroseconds) {
      const index = requests.findIndex((candidate) => isSame(candidate, request));
      if (index < 0) return false;
      // An answer that does not follow the one before it begins a round, of which the first may be missing.
      if (round.length !== index) round = [];
      if (round.length !== index) return false;
      round.push(answer);
      if (round.length < requests.length) return false;
      const whole = round as ModbusData[];
      round = [];
      const reading = read(whole, atMicroseconds);
      if (reading.read === 'doubt') {
        sink.problem('status-bad', reading.detail, byteCount, atMicroseconds);
      } else {
        delivery.deliver(reading.values, atMicroseconds);
      }
      return true;
    },
  });

  let cancelPoll: Cancel | undefined;
  const askEachInterval = (seconds: number): void => {
    cancelPoll = timers.after(toMicroseconds(seconds), () => {
      askEachInterval(seconds);
      if (client.pendingCount > 0) return;
      for (const request of requests) {
        void client.ask(request).catch(() => {
          // Not lost: an exception is reported as it comes, and silence by the watch, with its time.
        });
      }
    });
  };

  const outputs = driver.outputs ?? [];
  const actuator: Actuator = {
    outputs,
    async set(name, value, cancellation) {
      const output = requireOutput(outputs, name, value, { instrument, label: transport.label });
      await client.ask(output.write(value), cancellation);
      const { answer, atMicroseconds } = await client.ask(output.readBack, cancellation);
      if (output.isSet(answer, value)) return { atMicroseconds };
      throw new ChambersideError(
        'answer-unexpected',
        `${instrument}: it acknowledged ${name} ${value} and then said that it is another`,
        `${instrument}, ${transport.label}`,
        'Look at the instrument; set it again.',
      );
    },
  };

  let ended = false;
  const finish = (reason: string): void => {
    if (ended) return;
    ended = true;
    cancelPoll?.();
    delivery.end();
    client.end(reason);
  };
  transport.onClose(finish);
  if (settings.intervalSeconds !== null) askEachInterval(settings.intervalSeconds);
  return {
    ...(outputs.length > 0 ? { actuator } : {}),
    get accountedBytes() {
      return client.accountedBytes;
    },
    overhear(bytes) {
      client.overhear(bytes);
    },
    end: () => {
      finish('the conversation was ended');
    },
  };
}
