import { z } from 'zod';
import { ChambersideError } from '../../src/model/error-code.ts';
import type { ModbusData } from './modbus-client.ts';
import type { ModbusOutput, ModbusPollSettings, RoundReading } from './modbus-poll.ts';
import type { ModbusRequest } from './modbus-rtu.ts';
import { modbusSettingsShape } from './modbus-settings.ts';
import { plausibleSchema } from './quantity.ts';
import type { Quantity } from './quantity.ts';
import { numberInRegisters, registersOf, registersOfNumber, registerTypes } from './register-value.ts';
import type { WordOrder } from './register-value.ts';

/** Where a value stands in an instrument, and what makes it one in the unit of its stream: number × scale + offset. */
export const registerPlaceSchema = z.strictObject({
  /** `input` registers are read by function 4, `holding` registers by function 3. */
  table: z.enum(['input', 'holding']),
  /** Counted from 0, as on the wire: a register that a manual calls 30001 or 40001 is 0. */
  register: z.number().int().min(0).max(0xffff),
  type: z.enum(registerTypes),
  /** Default 1. */
  scale: z.number().refine((scale) => scale !== 0, 'must not be 0').default(1),
  /** Default 0. */
  offset: z.number().default(0),
});
export type RegisterPlace = z.output<typeof registerPlaceSchema>;

const statusSchema = z.strictObject({
  table: z.enum(['input', 'holding']),
  register: z.number().int().min(0).max(0xffff),
  /** Values that mean good. */
  good: z.array(z.number().int().min(0).max(0xffff)).min(1),
});

export interface RegisterDefaults {
  readonly quantities: readonly Quantity[];
  /** Our own example map. */
  readonly places: Readonly<Record<string, RegisterPlace>>;
  readonly status: z.output<typeof statusSchema> | null;
  readonly intervalSeconds: number;
  readonly silenceLimitSeconds: number;
}

export interface RegisterSettings extends ModbusPollSettings {
  readonly wordOrder: WordOrder;
  readonly registers: Readonly<Record<string, RegisterPlace | null>>;
  readonly status: z.output<typeof statusSchema> | null;
}

/** Settings of a dialect that reads registers, to stand in its schema. */
export const registerShape = (defaults: RegisterDefaults) => {
  const places = Object.fromEntries(
    defaults.quantities.map(({ stream }) => [
      stream,
      registerPlaceSchema.nullable().default(defaults.places[stream] ?? null),
    ]),
  );
  return {
    ...modbusSettingsShape,
    /** Of numbers that take two registers: `high-first` (default) or `low-first`. */
    wordOrder: z.enum(['high-first', 'low-first']).default('high-first'),
    /** Where each stream stands; null: the instrument does not have it. */
    registers: z.strictObject(places).prefault({}),
    /** A register that says whether the values are good; null: there is none. */
    status: statusSchema.nullable().default(defaults.status),
    /** Between two rounds of questions, s, 0.02 to 60; null: nothing is asked. */
    intervalSeconds: z.number().min(0.02).max(60).nullable().default(defaults.intervalSeconds),
    /** No reading for longer than this is a problem, s. */
    silenceLimitSeconds: z.number().positive().max(600).default(defaults.silenceLimitSeconds),
    /** Limits outside which readings are kept and reported, by stream, in its unit. */
    plausible: plausibleSchema(defaults.quantities),
  };
};

/** For `superRefine`: what no field can say by itself. */
export function checkRegisters(settings: RegisterSettings, context: z.core.$RefinementCtx): void {
  const problem = (message: string, field: string): void => {
    context.addIssue({ code: 'custom', message, path: [field] });
  };
  const places = Object.values(settings.registers).flatMap((place) => place ?? []);
  if (places.length === 0) problem('name at least one register', 'registers');
  if (places.some(({ register, type }) => register + registersOf(type) > 0x1_0000)) {
    problem('a number of two registers begins at 65534 at the latest', 'registers');
  }
  if (settings.intervalSeconds !== null && settings.silenceLimitSeconds <= settings.intervalSeconds) {
    problem('must be longer than the interval', 'silenceLimitSeconds');
  }
}

/** Longest run of registers that is asked for at once. */
const longestRun = 125;

/** Requests for numbered things of one table: neighbours together, nothing that nobody named. */
export function runsOf<Read extends 1 | 2 | 3 | 4>(
  read: Read,
  numbers: Iterable<number>,
  longest: number,
): { readonly function: Read; readonly start: number; readonly count: number }[] {
  const sorted = [...new Set(numbers)].sort((one, other) => one - other);
  const runs: { function: Read; start: number; count: number }[] = [];
  for (const number of sorted) {
    const last = runs.at(-1);
    if (last !== undefined && number === last.start + last.count && last.count < longest) last.count += 1;
    else runs.push({ function: read, start: number, count: 1 });
  }
  return runs;
}

export interface RegisterCodec {
  readonly requests: readonly ModbusRequest[];
  readonly quantities: readonly Quantity[];
  read(answers: readonly ModbusData[]): RoundReading;
  /** The registers that show these values, by table and number. For simulators. */
  write(values: ReadonlyMap<string, number>): ReadonlyMap<string, number>;
}

export const registerKey = (table: 'input' | 'holding', register: number): string => `${table} ${register}`;

const functionOf = (table: 'input' | 'holding'): 3 | 4 => (table === 'input' ? 4 : 3);

/** @param all quantities of the dialect; those without a register are left out. */
export function createRegisterCodec(settings: RegisterSettings, all: readonly Quantity[]): RegisterCodec {
  const placed = all.flatMap((quantity) => {
    const place = settings.registers[quantity.stream];
    return place == null ? [] : [{ quantity, place }];
  });
  const { status, wordOrder } = settings;
  const numbers = { input: new Set<number>(), holding: new Set<number>() };
  for (const { place } of placed) {
    for (let word = 0; word < registersOf(place.type); word += 1) numbers[place.table].add(place.register + word);
  }
  if (status !== null) numbers[status.table].add(status.register);
  const requests = (['input', 'holding'] as const).flatMap((table) =>
    runsOf(functionOf(table), numbers[table], longestRun).map((request) => ({ table, request })),
  );

  return {
    requests: requests.map(({ request }) => request),
    quantities: placed.map(({ quantity }) => quantity),
    read(answers) {
      const registers = new Map<string, number>();
      for (const [index, answer] of answers.entries()) {
        const asked = requests[index];
        if (asked === undefined || answer.answer !== 'registers') continue;
        for (const [word, value] of answer.registers.entries()) {
          registers.set(registerKey(asked.table, asked.request.start + word), value);
        }
      }
      if (status !== null) {
        const said = registers.get(registerKey(status.table, status.register)) ?? 0;
        if (!status.good.includes(said)) return { read: 'doubt', detail: `its status is ${said}` };
      }
      const values = new Map<string, number>();
      for (const { quantity, place } of placed) {
        const words = Array.from(
          { length: registersOf(place.type) },
          (_, word) => registers.get(registerKey(place.table, place.register + word)) ?? 0,
        );
        // No negative zero: `0 × -1` is zero.
        const value = numberInRegisters(words, place.type, wordOrder) * place.scale + place.offset + 0;
        if (!Number.isFinite(value)) return { read: 'doubt', detail: `${quantity.stream} is no number` };
        values.set(quantity.stream, value);
      }
      return { read: 'values', values };
    },
    write(values) {
      const registers = new Map<string, number>();
      for (const { quantity, place } of placed) {
        const number = ((values.get(quantity.stream) ?? 0) - place.offset) / place.scale;
        for (const [word, value] of registersOfNumber(number, place.type, wordOrder).entries()) {
          registers.set(registerKey(place.table, place.register + word), value);
        }
      }
      if (status !== null) registers.set(registerKey(status.table, status.register), status.good[0] ?? 0);
      return registers;
    },
  };
}

/** What registers that hold a value mean when they are read back, in the unit of the value. */
function heldValue(value: number, { offset, scale, type }: RegisterPlace): number {
  const words = registersOfNumber((value - offset) / scale, type, 'high-first');
  return numberInRegisters(words, type, 'high-first') * scale + offset + 0;
}

/**
 * What speaks against a place for an output that can hurt; null: nothing. Registers round and end: what is at rest has
 * to be held exactly, or the instrument would be believed to be at rest, and the most allowed must not become more.
 */
export function outputPlaceProblem(
  place: RegisterPlace,
  { high, restValue }: Pick<ModbusOutput, 'high' | 'restValue'>,
): string | null {
  const rest = heldValue(restValue, place);
  if (rest !== restValue) return `its registers cannot hold ${restValue}: they would say ${rest}`;
  const most = heldValue(high, place);
  return most > high || high - most > Math.abs(place.scale)
    ? `its registers cannot hold ${high}: they would say ${most}`
    : null;
}

/**
 * Requests and verdict for an output in a holding register. A value that the registers cannot hold within half a step,
 * or that they would round above `high`, is refused: `write` throws ChambersideError `request-refused`.
 */
export function registerOutput(
  descriptor: Pick<ModbusOutput, 'output' | 'unit' | 'low' | 'high' | 'restValue'>,
  place: RegisterPlace,
  wordOrder: WordOrder,
): ModbusOutput {
  const { register, type, scale, offset } = place;
  const wordsOf = (value: number): number[] => registersOfNumber((value - offset) / scale, type, wordOrder);
  return {
    ...descriptor,
    write(value) {
      const held = heldValue(value, place);
      if (held > descriptor.high || Math.abs(held - value) > Math.abs(scale) * 0.5000001) {
        throw new ChambersideError(
          'request-refused',
          `${descriptor.output} ${value} cannot be set: the registers would say ${held}`,
          `holding register ${register}`,
          'Ask for what the instrument can hold; see its scale and offset in the rig.',
        );
      }
      const [first = 0, ...more] = wordsOf(value);
      return more.length === 0
        ? { function: 6, register, value: first }
        : { function: 16, start: register, registers: [first, ...more] };
    },
    readBack: { function: 3, start: register, count: registersOf(type) },
    isSet: (answer, value) =>
      answer.answer === 'registers' && wordsOf(value).every((word, index) => word === answer.registers[index]),
  };
}
