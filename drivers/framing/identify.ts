import type { Identification } from '../../src/device/identification.ts';
import type { WireLoad } from '../../src/device/wire-load.ts';
import { bytesToText, textToBytes } from '../../src/model/bytes.ts';
import { shown } from './decimal.ts';
import { answerLength, answerLengthAt, decodeAnswer, encodeRequest, hasRightCrc } from './modbus-rtu.ts';
import type { ModbusRequest } from './modbus-rtu.ts';
import type { ModbusSettings } from './modbus-settings.ts';
import type { ValueLineCodec, ValueLineSettings } from './value-line.ts';

export interface LineIdentification {
  readonly terminator: string;
  /** A command without its terminator; null: it speaks by itself. */
  readonly question: string | null;
  readonly limitSeconds: number;
  /** The line is one of this dialect. Must not throw. */
  readonly fits: (line: string) => boolean;
  /** Who a line says that it is. */
  readonly told?: (line: string) => string | null;
}

/** Lines that have to fit, one after the other, where nothing was asked. */
const linesHeard = 2;

/**
 * An instrument of lines. Asked, one line that fits is enough; one that speaks by itself has said two in a row: the
 * first that comes may be the rest of one.
 */
export function lineIdentification(of: LineIdentification): Identification {
  return {
    question: of.question === null ? null : textToBytes(of.question + of.terminator),
    limitSeconds: of.limitSeconds,
    recognise(received) {
      const whole = bytesToText(received).split(of.terminator).slice(0, -1);
      const lines = whole.map((line) => line.trim()).filter((line) => line !== '');
      const needed = of.question === null ? linesHeard : 1;
      for (let end = needed; end <= lines.length; end += 1) {
        const run = lines.slice(end - needed, end);
        if (!run.every(of.fits)) continue;
        const last = run.at(-1) ?? '';
        return { told: of.told?.(last) ?? null, seen: shown(last) };
      }
      return null;
    },
  };
}

/** How long one that speaks by itself is listened to: three intervals and a second, or three silences; 2 to 30 s. */
export function listeningSeconds(intervalSeconds: number | null, silenceLimitSeconds: number): number {
  return Math.min(30, Math.max(2, intervalSeconds === null ? 3 * silenceLimitSeconds : 3 * intervalSeconds + 1));
}

/** Lines of values: asked by the command of `poll`, else listened to. */
export function identifyValueLines(settings: ValueLineSettings, codec: ValueLineCodec): Identification {
  const { expectedIntervalSeconds, poll, silenceLimitSeconds, terminator } = settings;
  return lineIdentification({
    terminator,
    question: poll?.command ?? null,
    limitSeconds: poll?.timeoutSeconds ?? listeningSeconds(expectedIntervalSeconds, silenceLimitSeconds),
    fits(line) {
      const decoded = codec.decode(line);
      return decoded.decoded === 'values' || decoded.code === 'status-bad';
    },
  });
}

/** The shortest line at the resolution of its streams, at the interval of the settings; null: lines come by event. */
export function valueLineLoad(settings: ValueLineSettings, codec: ValueLineCodec): WireLoad | null {
  const interval = settings.poll?.intervalSeconds ?? settings.expectedIntervalSeconds;
  if (interval === null) return null;
  const characters = codec.encode(new Map()).length + settings.terminator.length;
  return { of: 'line', characters, perSecond: 1 / interval };
}

/** A slave that answers a question to read: its address, function, length and check sum are right. */
export function identifyModbus(settings: ModbusSettings, request: ModbusRequest | undefined): Identification | null {
  if (request === undefined) return null;
  const { address } = settings;
  return {
    question: encodeRequest(address, request),
    limitSeconds: settings.timeoutSeconds,
    recognise(received) {
      for (let from = 0; from < received.length; from += 1) {
        const length = answerLengthAt(received, from, address, request);
        if (length == null || from + length > received.length || !hasRightCrc(received, from, from + length)) continue;
        const answer = decodeAnswer(received.slice(from, from + length), address, request);
        if (answer === null || answer.answer === 'exception') continue;
        const values = answer.answer === 'registers' ? `registers ${answer.registers.join(', ')}` : 'bits';
        return { told: null, seen: `address ${address} answers: ${values}` };
      }
      return null;
    },
  };
}

/** Two silences of 3.5 characters, before and behind the answer ("MODBUS over Serial Line", 2.5.1.1). */
const silences = 7;

/** A round of questions and answers, as one line carries both; null: nothing is asked. */
export function modbusLoad(requests: readonly ModbusRequest[], intervalSeconds: number | null): WireLoad | null {
  if (intervalSeconds === null || requests.length === 0) return null;
  const characters = requests.reduce((sum, request) => sum + 8 + answerLength(request) + silences, 0);
  return { of: 'round', characters, perSecond: 1 / intervalSeconds };
}
