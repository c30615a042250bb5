import { beaconOutput, contactQuantities } from '../../framing/contact.ts';
import type { ClosedContacts } from '../../framing/contact.ts';
import type { ModbusData } from '../../framing/modbus-client.ts';
import type { ModbusOutput } from '../../framing/modbus-poll.ts';
import type { ModbusRequest } from '../../framing/modbus-rtu.ts';
import { modbusLimits } from '../../framing/modbus-rtu.ts';
import type { Quantity } from '../../framing/quantity.ts';
import { runsOf } from '../../framing/register-table.ts';
import type { ModbusContactSettings } from './manifest.ts';

type BitTable = 'coils' | 'discrete-inputs';

const functionOf = (table: BitTable): 1 | 2 => (table === 'coils' ? 1 : 2);

export const bitKey = (table: BitTable, bit: number): string => `${table} ${bit}`;

export interface ModbusContactCodec {
  readonly requests: readonly ModbusRequest[];
  /** Those that have a bit. */
  readonly quantities: readonly Quantity[];
  /** Which contacts a whole round says are closed. */
  read(answers: readonly ModbusData[]): ClosedContacts;
  /** Present where there is a beacon. */
  readonly beacon: ModbusOutput | null;
}

/** Codec of one instrument: a set bit is a closed contact. */
export function createModbusContactCodec(settings: ModbusContactSettings): ModbusContactCodec {
  const placed = contactQuantities.flatMap((quantity) => {
    const place = settings.inputs[quantity.stream as keyof ModbusContactSettings['inputs']];
    return place === null ? [] : [{ quantity, ...place }];
  });
  const asked = (['coils', 'discrete-inputs'] as const).flatMap((table) => {
    const bits = placed.filter((place) => place.table === table).map(({ bit }) => bit);
    return runsOf(functionOf(table), bits, modbusLimits.readBits).map((request) => ({ table, request }));
  });
  const { beaconCoil } = settings;
  return {
    requests: asked.map(({ request }) => request),
    quantities: placed.map(({ quantity }) => quantity),
    read(answers) {
      const set = new Set<string>();
      for (const [index, { table, request }] of asked.entries()) {
        const answer = answers[index];
        if (answer?.answer !== 'bits') continue;
        for (const [offset, bit] of answer.bits.entries()) if (bit) set.add(bitKey(table, request.start + offset));
      }
      return new Map(placed.map(({ quantity, table, bit }) => [quantity.stream, set.has(bitKey(table, bit))]));
    },
    beacon:
      beaconCoil === null
        ? null
        : {
            ...beaconOutput,
            write: (value) => ({ function: 5, coil: beaconCoil, on: value !== beaconOutput.restValue }),
            readBack: { function: 1, start: beaconCoil, count: 1 },
            isSet: (answer, value) =>
              answer.answer === 'bits' && answer.bits[0] === (value !== beaconOutput.restValue),
          },
  };
}
