import type { Cancellation } from '../../src/device/cancellation.ts';
import type { DriverContext } from '../../src/device/driver.ts';
import { createRequestQueue } from '../../src/device/request.ts';
import type { ProblemCode } from '../../src/model/reading.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import {
  answerLengthAt,
  decodeAnswer,
  decodeRequest,
  encodeRequest,
  exceptionText,
  hasRightCrc,
  longestModbusFrame,
} from './modbus-rtu.ts';
import type { ModbusAnswer, ModbusRequest } from './modbus-rtu.ts';
import type { ModbusSettings } from './modbus-settings.ts';
import { createFrameReceiver } from './silence-delimited.ts';

export type ModbusData = Exclude<ModbusAnswer, { answer: 'exception' }>;

/** The program's side of a conversation with one slave. */
export interface ModbusClient {
  /** Requests on the wire and waiting. */
  readonly pendingCount: number;
  /** Received bytes that stand in frames or problems so far. */
  readonly accountedBytes: number;
  /** Errors as those of a request queue; an exception of the slave is `request-refused`. */
  ask(
    request: ModbusRequest,
    cancellation?: Cancellation,
  ): Promise<{ readonly answer: ModbusData; readonly atMicroseconds: number }>;
  /** Somebody else wrote this request to the slave: what comes next is its answer. */
  overhear(bytes: Uint8Array): void;
  end(reason: string): void;
}

export interface ModbusClientOptions {
  readonly context: DriverContext<ModbusSettings>;
  /**
   * Every answer to a request, asked or overheard, as soon as it is complete and before whoever asked is told.
   * @returns whether its bytes are accounted for by readings or problems; otherwise they are reported as understood.
   */
  readonly onAnswer?: (
    request: ModbusRequest,
    answer: ModbusData,
    byteCount: number,
    atMicroseconds: number,
  ) => boolean;
}

/** `read 2 holding registers from 0` */
export function requestText(request: ModbusRequest): string {
  switch (request.function) {
    case 1:
      return `read ${request.count} coils from ${request.start}`;
    case 2:
      return `read ${request.count} discrete inputs from ${request.start}`;
    case 3:
      return `read ${request.count} holding registers from ${request.start}`;
    case 4:
      return `read ${request.count} input registers from ${request.start}`;
    case 5:
      return `switch coil ${request.coil} ${request.on ? 'on' : 'off'}`;
    case 6:
      return `write ${request.value} to register ${request.register}`;
    case 15:
      return `switch ${request.coils.length} coils from ${request.start}`;
    case 16:
      return `write ${request.registers.length} registers from ${request.start}`;
  }
}

const hex = (bytes: Uint8Array): string => {
  const shown = Array.from(bytes.subarray(0, 24), (byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(' ');
  return bytes.length > 24 ? `${shown} … (${bytes.length} bytes)` : shown;
};

interface Exchange {
  readonly request: ModbusRequest;
  /** Somebody else asked: its answer needs no queue. */
  readonly overheard: boolean;
}

/**
 * Opens a conversation with the slave of the settings. An answer is believed when its check sum is right, it comes from
 * this slave, has the function and the length of what was asked, and a write says again what was written. What a frame
 * of this standard cannot tell: an answer that arrives late, while the same is asked again, is taken for the new one.
 */
export function createModbusClient(options: ModbusClientOptions): ModbusClient {
  const { context, onAnswer } = options;
  const { instrument, settings, sink, timers, transport } = context;
  const { address } = settings;
  let exchange: Exchange | null = null;
  let accounted = 0;

  const problem = (code: ProblemCode, detail: string, byteCount: number, atMicroseconds: number): void => {
    sink.problem(code, detail, byteCount, atMicroseconds);
  };

  const queue = createRequestQueue<Uint8Array>({
    instrument,
    label: transport.label,
    timers,
    turns: transport.turns,
    restMicroseconds: toMicroseconds(settings.restMilliseconds / 1000),
    write(bytes) {
      // Whatever came before the request is no answer to it.
      receiver.flush();
      begin(bytes, false);
      transport.write(bytes);
    },
  });

  const begin = (bytes: Uint8Array, overheard: boolean): void => {
    const request = bytes[0] === address && hasRightCrc(bytes) ? decodeRequest(bytes) : null;
    exchange = request === null || 'exception' in request ? null : { request, overheard };
  };

  const onFrame = (frame: Uint8Array, atMicroseconds: number): void => {
    accounted += frame.length;
    const current = exchange;
    const reception = current?.overheard === true ? undefined : queue.offer(frame, atMicroseconds);
    const answer = current === null ? null : decodeAnswer(frame, address, current.request);
    if (current === null || answer === null || (reception !== undefined && reception.taken !== 'settled')) {
      const why = reception?.taken === 'late' ? `late answer to "${reception.command}"` : 'nothing waited for it';
      problem('answer-unexpected', `${hex(frame)}: ${why}`, frame.length, atMicroseconds);
    } else if (answer.answer === 'exception') {
      const detail = `${requestText(current.request)}: ${exceptionText(answer.exception)}`;
      problem('status-bad', detail, frame.length, atMicroseconds);
    } else if (onAnswer?.(current.request, answer, frame.length, atMicroseconds) !== true) {
      sink.understood(frame.length, atMicroseconds);
    }
  };

  const onSetAside = (bytes: Uint8Array, atMicroseconds: number): void => {
    accounted += bytes.length;
    const [code, why] = reasonFor(bytes);
    problem(code, `${hex(bytes)}: ${why}`, bytes.length, atMicroseconds);
  };

  /** Why bytes are no answer; the most telling reason first. */
  const reasonFor = (bytes: Uint8Array): readonly [ProblemCode, string] => {
    if (hasRightCrc(bytes)) {
      return bytes[0] === address
        ? ['answer-unexpected', 'a frame that does not answer what was asked']
        : ['answer-unexpected', `a frame of slave ${bytes[0] ?? 0}, and ${address} was asked`];
    }
    const length = exchange === null ? null : answerLengthAt(bytes, 0, address, exchange.request);
    if (length === bytes.length) return ['checksum-wrong', 'the check sum does not match'];
    if (length === undefined || (length !== null && length > bytes.length)) {
      return ['line-incomplete', 'the line fell silent in the middle of a frame'];
    }
    return ['line-undecodable', 'no frame of this conversation'];
  };

  const receiver = createFrameReceiver({
    timers,
    silenceMicroseconds: toMicroseconds(settings.silenceMilliseconds / 1000),
    longestFrame: longestModbusFrame,
    lengthAt: (bytes, from) => (exchange === null ? null : answerLengthAt(bytes, from, address, exchange.request)),
    isWhole: hasRightCrc,
    onFrame,
    onSetAside,
  });
  transport.onBytes((bytes, atMicroseconds) => {
    receiver.receive(bytes, atMicroseconds);
  });

  return {
    get pendingCount() {
      return queue.pendingCount;
    },
    get accountedBytes() {
      return accounted;
    },
    ask: (request, cancellation) =>
      queue.ask<{ readonly answer: ModbusData; readonly atMicroseconds: number }>({
        command: requestText(request),
        bytes: encodeRequest(address, request),
        judge(frame, atMicroseconds) {
          const answer = decodeAnswer(frame, address, request);
          if (answer === null) return { verdict: 'unrelated' };
          if (answer.answer !== 'exception') return { verdict: 'answer', answer: { answer, atMicroseconds } };
          return { verdict: 'refused', detail: exceptionText(answer.exception) };
        },
        timeoutSeconds: settings.timeoutSeconds,
        cancellation,
      }),
    overhear(bytes) {
      receiver.flush();
      begin(bytes, true);
    },
    end(reason) {
      queue.end(reason);
      receiver.end();
    },
  };
}
