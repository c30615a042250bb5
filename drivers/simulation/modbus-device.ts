import type { Simulator, SimulatorContext } from '../../src/device/simulator.ts';
import type { Cancel } from '../../src/device/timers.ts';
import { bytesToText } from '../../src/model/bytes.ts';
import { toMicroseconds } from '../../src/model/time.ts';
import { decodeRequest, encodeAnswer, hasRightCrc, longestModbusFrame, modbusFrame } from '../framing/modbus-rtu.ts';
import { requestLength } from '../framing/modbus-rtu.ts';
import type { ModbusAnswer, ModbusRequest } from '../framing/modbus-rtu.ts';
import type { ModbusSettings } from '../framing/modbus-settings.ts';
import { createFaultyWire } from './faulty-wire.ts';

export interface ModbusDevice extends Simulator {
  /** Answers everything with this exception for `seconds` from now, then as always; Infinity: for good. */
  refuse(exception: number, seconds: number): void;
}

export interface ModbusDeviceOptions {
  readonly settings: Pick<ModbusSettings, 'address' | 'silenceMilliseconds'>;
  readonly context: SimulatorContext;
  /** What the device says to a request of a form that it can read; null: nothing. */
  readonly respond: (request: ModbusRequest) => ModbusAnswer | null;
  readonly onStart?: () => void;
  readonly onStop?: () => void;
  /** From the request to its answer, µs, ≥ 0. Default 0: at once. */
  readonly delayMicroseconds?: () => number;
}

/**
 * A slave on a Modbus line. It answers what is addressed to it and has a right check sum, does what is addressed to all
 * (0) without a word, and says nothing to anything else. While it is `frozen` it answers every request as it did last.
 */
export function createModbusDevice(options: ModbusDeviceOptions): ModbusDevice {
  const { settings, context, respond } = options;
  const wire = createFaultyWire({ context, delimiter: '', spoilChecksum });
  const answers = new Map<string, Uint8Array>();
  const timers = new Set<Cancel>();
  let on = false;
  let pending: Uint8Array = new Uint8Array(0);
  let cancelSilence: Cancel | undefined;
  let frozen = false;
  let exception: number | null = null;
  let cancelRefusal: Cancel | undefined;
  let cancelFrozen: Cancel | undefined;

  const after = (microseconds: number, callback: () => void): void => {
    if (microseconds <= 0) {
      callback();
      return;
    }
    const cancel = context.timers.after(microseconds, () => {
      timers.delete(cancel);
      callback();
    });
    timers.add(cancel);
  };

  const send = (frame: Uint8Array): void => {
    after(options.delayMicroseconds?.() ?? 0, () => {
      wire.sendLine(bytesToText(frame));
    });
  };

  const handle = (frame: Uint8Array): void => {
    const address = frame[0] ?? 0;
    if (!hasRightCrc(frame) || (address !== settings.address && address !== 0)) return;
    const request = decodeRequest(frame);
    const key = bytesToText(frame);
    const known = frozen ? answers.get(key) : undefined;
    if (known !== undefined) {
      send(known);
      return;
    }
    let answer: Uint8Array | null;
    if ('exception' in request) {
      answer = modbusFrame([address, (frame[1] ?? 0) | 0x80, request.exception]);
    } else {
      const said = exception === null ? respond(request) : ({ answer: 'exception', exception } as const);
      answer = said === null ? null : encodeAnswer(address, request, said);
    }
    if (answer === null || address === 0) return;
    answers.set(key, answer);
    send(answer);
  };

  const take = (count: number): void => {
    const frame = pending.slice(0, count);
    pending = pending.slice(count);
    handle(frame);
  };

  return {
    start() {
      on = true;
      options.onStart?.();
    },
    stop() {
      on = false;
      options.onStop?.();
      for (const cancel of [...timers, cancelSilence, cancelRefusal, cancelFrozen]) cancel?.();
      timers.clear();
      pending = new Uint8Array(0);
      answers.clear();
      frozen = false;
      exception = null;
      wire.stop();
    },
    receive(bytes) {
      if (!on) return;
      cancelSilence?.();
      cancelSilence = undefined;
      const joined = new Uint8Array(pending.length + bytes.length);
      joined.set(pending);
      joined.set(bytes, pending.length);
      pending = joined;
      for (let length = requestLength(pending); length != null && length <= pending.length; ) {
        take(length);
        length = requestLength(pending);
      }
      // No frame is longer: what is left is noise, and so is what follows it without a pause.
      if (pending.length > longestModbusFrame) pending = pending.slice(-longestModbusFrame);
      if (pending.length === 0) return;
      cancelSilence = context.timers.after(toMicroseconds(settings.silenceMilliseconds / 1000), () => {
        cancelSilence = undefined;
        take(pending.length);
      });
    },
    inject(fault) {
      if (fault.fault === 'frozen') {
        frozen = true;
        cancelFrozen?.();
        cancelFrozen = context.timers.after(toMicroseconds(fault.seconds), () => {
          frozen = false;
        });
      } else {
        wire.inject(fault);
      }
    },
    refuse(code, seconds) {
      cancelRefusal?.();
      cancelRefusal = undefined;
      exception = code;
      if (seconds === Infinity) return;
      cancelRefusal = context.timers.after(toMicroseconds(seconds), () => {
        exception = null;
      });
    },
  };
}

/** The same frame with a check sum that cannot be right. */
function spoilChecksum(frame: string): string {
  const last = frame.length - 1;
  return frame.slice(0, last) + String.fromCharCode(frame.charCodeAt(last) ^ 0x55);
}
