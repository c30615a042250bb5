import { z } from 'zod';
import type { ProblemCode } from '../../src/model/reading.ts';
import { convert, unitNames, units } from '../../src/model/unit.ts';
import type { Unit } from '../../src/model/unit.ts';
import { decimalsFor, parseDecimal, shown } from './decimal.ts';
import { checksumSettingsProblem, createLineChecksum } from './line-checksum.ts';
import { plausibleSchema, rhythmProblem } from './quantity.ts';
import type { Quantity, Rhythm } from './quantity.ts';
import { commandSchema, longestLineBytesSchema, terminatorSchema, wireWordSchema } from './settings.ts';
import { compileTemplate } from './template.ts';

/**
 * Lines that hold several values: `climate {temperature} {humidity} {status} *{checksum}`. The words in braces are the
 * streams of the dialect, and `status`, `checksum`, `any`. A stream whose word is not in the line is not delivered.
 */
export interface ValueLineDefaults {
  readonly quantities: readonly Quantity[];
  readonly line: string;
  readonly checksum: 'none' | 'xor-hex' | 'sum-hex';
  /** null: readings come by event. */
  readonly expectedIntervalSeconds: number | null;
  readonly silenceLimitSeconds: number;
}

const otherTokens = ['status', 'checksum', 'any'];

/** Settings of a dialect of such lines, to stand in its schema. */
export const valueLineShape = (defaults: ValueLineDefaults) => {
  const stream = z.enum(defaults.quantities.map((quantity) => quantity.stream));
  const interval = z.number().positive().max(60);
  return {
    /** What a line looks like: literals, a word in braces for each stream in it, {status}, {checksum}, {any}. */
    line: z.string().max(200).default(defaults.line),
    /** Unit in which the line gives a stream, where it is not that of the stream. */
    units: z.partialRecord(stream, z.enum(unitNames)).default({}),
    /** Mark between whole and fraction: `.` (default) or `,`. */
    decimalMark: z.enum(['.', ',']).default('.'),
    terminator: terminatorSchema,
    /** `xor-hex`, `sum-hex` (modulo 256), both two hex digits, or `none`. */
    checksum: z.enum(['none', 'xor-hex', 'sum-hex']).default(defaults.checksum),
    /** Bytes at the beginning of the line that the checksum does not cover, 0 (default) to 16. */
    checksumSkipsBytes: z.number().int().min(0).max(16).default(0),
    /** What stands right before `{checksum}` and is not covered by it; null (default): from the last `*` on. */
    checksumMark: z.string().max(20).regex(/^\S*$/, 'blanks are always covered').nullable().default(null),
    /** Status words of a good line. Default `ok`. */
    goodStatus: z.array(wireWordSchema).default(['ok']),
    /** Asks for each line; null (default) for an instrument that prints on its own. */
    poll: z
      .strictObject({
        command: commandSchema,
        /** Between two questions, s, 0.01 to 60. */
        intervalSeconds: z.number().min(0.01).max(60),
        /** For one answer, s, 0.01 to 60. Default 1. */
        timeoutSeconds: z.number().min(0.01).max(60).default(1),
      })
      .nullable()
      .default(null),
    /** Between two lines when all is well, s; null: they come by event. */
    expectedIntervalSeconds: interval.nullable().default(defaults.expectedIntervalSeconds),
    /** No reading for longer than this is a problem, s. */
    silenceLimitSeconds: z.number().positive().max(600).default(defaults.silenceLimitSeconds),
    /** Limits outside which readings are kept and reported, by stream, in its unit. Default: those of the dialect. */
    plausible: plausibleSchema(defaults.quantities),
    longestLineBytes: longestLineBytesSchema,
  };
};

export interface ValueLineSettings extends Rhythm {
  readonly line: string;
  readonly units: Readonly<Partial<Record<string, Unit>>>;
  readonly decimalMark: '.' | ',';
  readonly terminator: '\n' | '\r' | '\r\n';
  readonly checksum: 'none' | 'xor-hex' | 'sum-hex';
  readonly checksumSkipsBytes: number;
  readonly checksumMark: string | null;
  readonly goodStatus: readonly string[];
  readonly poll: {
    readonly command: string;
    readonly intervalSeconds: number;
    readonly timeoutSeconds: number;
  } | null;
  readonly longestLineBytes: number;
}

/** For `superRefine`: what no field can say by itself. */
export function checkValueLine(
  settings: ValueLineSettings,
  context: z.core.$RefinementCtx,
  quantities: readonly Quantity[],
): void {
  const problem = (message: string, field: string): void => {
    context.addIssue({ code: 'custom', message, path: [field] });
  };
  const streams = quantities.map(({ stream }) => stream);
  let tokens: readonly string[];
  try {
    tokens = compileTemplate(settings.line, [...streams, ...otherTokens]).tokens;
  } catch (error) {
    problem(error instanceof Error ? error.message : String(error), 'line');
    return;
  }
  if (!streams.some((stream) => tokens.includes(stream))) {
    problem(`the line must hold one of ${streams.map((stream) => `{${stream}}`).join(', ')}`, 'line');
  }
  const sum = checksumSettingsProblem(settings, tokens);
  if (sum !== null) problem(sum.message, sum.field);
  if (tokens.includes('status') && settings.goodStatus.length === 0) {
    problem('the line holds {status}: name at least one word that means good', 'goodStatus');
  }
  for (const { stream, unit } of quantities) {
    const given = settings.units[stream];
    if (given === undefined || units[given].quantity === units[unit].quantity) continue;
    problem(`${stream} is a ${units[unit].quantity}, and ${given} a ${units[given].quantity}`, 'units');
  }
  const rhythm = rhythmProblem(settings);
  if (rhythm !== null) problem(rhythm, 'silenceLimitSeconds');
}

/** The quantities whose words stand in the line. */
export function quantitiesInLine(settings: Pick<ValueLineSettings, 'line'>, all: readonly Quantity[]): Quantity[] {
  const { tokens } = compileTemplate(settings.line, [...all.map(({ stream }) => stream), ...otherTokens]);
  return all.filter(({ stream }) => tokens.includes(stream));
}

export type DecodedValues =
  /** By stream, in its unit, in the order of the dialect. */
  | { readonly decoded: 'values'; readonly values: ReadonlyMap<string, number> }
  | { readonly decoded: 'problem'; readonly code: ProblemCode; readonly detail: string };

export interface ValueLineCodec {
  /** Never throws, whatever the line holds. One value that is none spoils the line. */
  decode(line: string): DecodedValues;
  /** The line has the form of the template, whatever its values are. */
  fits(line: string): boolean;
  /** A line that decodes to these values, rounded to their resolution. */
  encode(values: ReadonlyMap<string, number>): string;
  spoilChecksum(line: string): string;
}

/** How a stream is written where it is no decimal number. */
export interface ValueWords {
  read(text: string): number | undefined;
  write(value: number): string;
}

/** @param words in place of decimal numbers. */
export function createValueLineCodec(
  settings: ValueLineSettings,
  all: readonly Quantity[],
  words?: ValueWords,
): ValueLineCodec {
  const template = compileTemplate(settings.line, [...all.map(({ stream }) => stream), ...otherTokens]);
  const quantities = quantitiesInLine(settings, all);
  const sum = createLineChecksum(settings, template);
  const problem = (code: ProblemCode, detail: string): DecodedValues => ({ decoded: 'problem', code, detail });
  const unitOnWire = ({ stream, unit }: Quantity): Unit => settings.units[stream] ?? unit;
  const numbers: ValueWords = words ?? {
    read: (text) => parseDecimal(text, settings.decimalMark),
    write: (value) => String(value),
  };
  const write = (quantity: Quantity, value: number): string => {
    if (words !== undefined) return words.write(value);
    const unit = unitOnWire(quantity);
    // A finer unit needs fewer digits for the same step, a coarser one more.
    const decimals = decimalsFor(convert(quantity.resolution, quantity.unit, unit));
    return convert(value, quantity.unit, unit).toFixed(decimals).replace('.', settings.decimalMark);
  };
  return {
    decode(line) {
      const tokens = template.match(line);
      if (tokens === undefined) return problem('line-undecodable', `${shown(line)} is not ${shown(settings.line)}`);
      const wrong = sum.problem(line, tokens['checksum']);
      if (wrong !== undefined) return problem(wrong.code, wrong.detail);
      const status = tokens['status'];
      if (status !== undefined && !settings.goodStatus.includes(status.text)) {
        return problem('status-bad', `status ${shown(status.text)} in ${shown(line)}`);
      }
      const values = new Map<string, number>();
      for (const quantity of quantities) {
        const { stream, unit } = quantity;
        const number = numbers.read(tokens[stream]?.text ?? '');
        if (number === undefined) return problem('line-undecodable', `no ${stream} in ${shown(line)}`);
        const value = words === undefined ? convert(number, unitOnWire(quantity), unit) : number;
        if (!Number.isFinite(value)) return problem('line-undecodable', `${stream} too large in ${shown(line)}`);
        values.set(stream, value);
      }
      return { decoded: 'values', values };
    },
    fits: (line) => template.match(line) !== undefined,
    encode(values) {
      const status = settings.goodStatus[0] ?? '';
      const texts = quantities.map((quantity) => [quantity.stream, write(quantity, values.get(quantity.stream) ?? 0)]);
      return sum.format({ ...(Object.fromEntries(texts) as Record<string, string>), status });
    },
    spoilChecksum: (line) => sum.spoil(line),
  };
}
