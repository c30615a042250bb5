import type { ModbusData } from '../../framing/modbus-client.ts';
import type { ModbusRequest } from '../../framing/modbus-rtu.ts';
import type { ModbusValveSettings } from './manifest.ts';

/** Where a valve says that it stands. */
export type ValvePosition =
  | { readonly stands: 'at'; readonly port: number }
  /** On its way, or at none of its ports. */
  | { readonly stands: 'between' }
  /** It says what cannot be: two ports at once, a port that it does not have. */
  | { readonly stands: 'nowhere'; readonly detail: string };

export interface ModbusValveCodec {
  /** Moves to a port, 1 to `ports`. */
  select(port: number): ModbusRequest;
  readonly position: ModbusRequest;
  /** What an answer to `position` says. */
  read(answer: ModbusData): ValvePosition;
  /** The port that a request of `select` names; null for other requests. For simulators. */
  selected(request: ModbusRequest): number | null;
  /** The answer of a valve that stands at a port; null: between ports. For simulators. */
  write(port: number | null): ModbusData;
}

/** Codec of one valve. */
export function createModbusValveCodec(settings: ModbusValveSettings): ModbusValveCodec {
  const { select, position, ports, firstValue } = settings;
  const numbers = Array.from({ length: ports }, (_, index) => index + 1);
  const portOf = (value: number): ValvePosition => {
    const port = value - firstValue + 1;
    if (numbers.includes(port)) return { stands: 'at', port };
    return value === settings.betweenValue ? { stands: 'between' } : { stands: 'nowhere', detail: `position ${value}` };
  };
  return {
    select: (port) =>
      select.by === 'register'
        ? { function: 6, register: select.register, value: port - 1 + firstValue }
        : { function: 15, start: select.coil, coils: numbers.map((number) => number === port) },
    position: {
      function: ({ coils: 1, 'discrete-inputs': 2, 'holding-registers': 3, 'input-registers': 4 } as const)[
        position.table
      ],
      start: position.start,
      count: position.table === 'coils' || position.table === 'discrete-inputs' ? ports : 1,
    },
    read(answer) {
      if (answer.answer === 'registers') return portOf(answer.registers[0] ?? 0);
      if (answer.answer !== 'bits') return { stands: 'nowhere', detail: 'no position' };
      const on = numbers.filter((port) => answer.bits[port - 1] === true);
      const [port] = on;
      if (port === undefined) return { stands: 'between' };
      return on.length === 1
        ? { stands: 'at', port }
        : { stands: 'nowhere', detail: `ports ${on.join(' and ')} at once` };
    },
    selected(request) {
      if (request.function === 6 && select.by === 'register' && request.register === select.register) {
        return request.value - firstValue + 1;
      }
      if (request.function !== 15 || select.by !== 'coils' || request.start !== select.coil) return null;
      return request.coils.indexOf(true) + 1;
    },
    write(port) {
      if (position.table === 'coils' || position.table === 'discrete-inputs') {
        return { answer: 'bits', bits: numbers.map((number) => number === port) };
      }
      return { answer: 'registers', registers: [port === null ? settings.betweenValue : port - 1 + firstValue] };
    },
  };
}
