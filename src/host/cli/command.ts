import { parseArgs } from 'node:util';
import type { z } from 'zod';
import { ChambersideError } from '../../model/error-code.ts';

/** 0: done and good. 1: it ran and found something bad. 2: wrong usage. */
export type ExitCode = 0 | 1 | 2;

/** Where a command writes: replaced in tests. */
export interface Output {
  /** A line of the result, to standard output. */
  line(text: string): void;
  /** Progress and notes, to standard error. */
  note(text: string): void;
  /** True when a person reads standard error. */
  readonly interactive: boolean;
}

/** One option of a command. `--json` and `--help` exist for every command and are not listed here. */
export interface OptionDescription {
  readonly name: string;
  /** What stands for the value in the help, or null for a switch. */
  readonly value: string | null;
  /** Range and default on the same line. */
  readonly help: string;
  readonly required?: boolean;
}

/** Options as parsed: `text` throws `usage-unknown-option` when a required one is missing. */
export interface OptionValues {
  readonly json: boolean;
  /** The word that follows the name of a command that takes one. @throws ChambersideError `usage-unknown-option`. */
  operand(): string;
  has(name: string): boolean;
  text(name: string): string;
  optional(name: string): string | undefined;
  /** @throws ChambersideError `usage-bad-value` unless it is a whole number in the range. */
  wholeNumber(
    name: string,
    range: { readonly least: number; readonly most: number; readonly otherwise: number },
  ): number;
  /** @throws ChambersideError `usage-bad-value` unless it is a finite number in the range. */
  number(name: string, range: { readonly least: number; readonly most: number; readonly otherwise: number }): number;
  /** @throws ChambersideError `usage-bad-value` unless the schema takes it; nothing is trimmed or corrected. */
  fitting(
    name: string,
    form: { readonly schema: z.ZodType<string>; readonly expected: string; readonly otherwise: string },
  ): string;
  /** @throws ChambersideError `usage-bad-value` unless it is one of the words. */
  oneOf<Word extends string>(name: string, words: readonly Word[], otherwise: Word): Word;
}

/** What the option of a code expects, in words: `codeSchema`. */
export const codeWords = { expected: 'a code of 1 to 20 letters, digits, . - _ that begins with a letter or digit' };
/** `ensembleNameSchema` in words. */
export const ensembleWords = { expected: 'a name of 1 to 80 characters on one line' };

export interface Command {
  readonly name: string;
  readonly summary: string;
  /** One word that follows the command's name; absent: none does. */
  readonly operand?: {
    readonly name: string;
    /** Null: any word. */
    readonly words: readonly string[] | null;
    readonly help: string;
  };
  readonly options: readonly OptionDescription[];
  /** Further lines of the help: examples, what the exit code means here. */
  readonly notes: readonly string[];
  run(values: OptionValues, output: Output): Promise<ExitCode>;
}

/** The text that `chamberside COMMAND --help` prints. */
export function commandHelp(command: Command): string {
  const { operand } = command;
  const rows = [
    ...(operand === undefined ? [] : [{ left: operand.words?.join(' | ') ?? operand.name, right: operand.help }]),
    ...command.options.map((option) => ({
      left: option.value === null ? `--${option.name}` : `--${option.name} ${option.value}`,
      right: option.required === true ? `${option.help} (required)` : option.help,
    })),
    { left: '--json', right: 'print the result as JSON' },
    { left: '--help', right: 'print this text' },
  ];
  const width = Math.max(...rows.map((row) => row.left.length));
  return [
    `chamberside ${command.name}: ${command.summary}`,
    '',
    ...rows.map((row) => `  ${row.left.padEnd(width)}  ${row.right}`),
    ...(command.notes.length > 0 ? ['', ...command.notes] : []),
  ].join('\n');
}

function usage(command: Command, what: string, where: string): ChambersideError {
  return new ChambersideError(
    'usage-unknown-option',
    what,
    where,
    `See: npx --no-install chamberside ${command.name} --help`,
  );
}

/**
 * Parses what follows the command's name.
 * @throws ChambersideError `usage-unknown-option` for anything not described by the command.
 */
export function parseOptions(command: Command, words: readonly string[]): OptionValues & { readonly help: boolean } {
  const parsed = parseWords(command, words);
  const badValue = (name: string, expected: string): ChambersideError =>
    new ChambersideError(
      'usage-bad-value',
      `${JSON.stringify(shortened(parsed[name]))} is not ${expected}`,
      `--${name}`,
      `Give ${expected}.`,
    );
  const numberOf = (name: string, otherwise: number, form: RegExp): number => {
    const text = parsed[name];
    if (text === undefined) return otherwise;
    return typeof text === 'string' && form.test(text) ? Number(text) : Number.NaN;
  };
  const optional = (name: string): string | undefined => {
    const value = parsed[name];
    if (typeof value !== 'string') return undefined;
    if (value.trim() === '') throw badValue(name, 'a text that is not empty');
    return value;
  };
  return {
    help: parsed['help'] === true,
    json: parsed['json'] === true,
    operand() {
      const { name = '', words: known = null } = command.operand ?? {};
      const word = parsed[operandKey];
      if (typeof word === 'string') return word;
      const choice = known === null ? '' : `: ${known.join(', ')}`;
      throw usage(command, `the ${name} is missing${choice}`, `chamberside ${command.name}`);
    },
    has: (name) => parsed[name] !== undefined,
    text(name) {
      const value = optional(name);
      if (value === undefined) throw usage(command, `--${name} is missing`, `chamberside ${command.name}`);
      return value;
    },
    optional,
    wholeNumber(name, range) {
      const value = numberOf(name, range.otherwise, wholeNumberForm);
      if (!Number.isSafeInteger(value) || value < range.least || value > range.most) {
        throw badValue(name, `a whole number from ${range.least} to ${range.most}`);
      }
      return value;
    },
    number(name, range) {
      const value = numberOf(name, range.otherwise, decimalForm);
      if (!Number.isFinite(value) || value < range.least || value > range.most) {
        throw badValue(name, `a number from ${range.least} to ${range.most}`);
      }
      return value;
    },
    fitting(name, { schema, expected, otherwise }) {
      const result = schema.safeParse(parsed[name] ?? otherwise);
      if (!result.success) throw badValue(name, expected);
      return result.data;
    },
    oneOf(name, words_, otherwise) {
      const value = parsed[name];
      if (value === undefined) return otherwise;
      const found = words_.find((word) => word === value);
      if (found === undefined) throw badValue(name, `one of ${words_.join(', ')}`);
      return found;
    },
  };
}

/** Where the operand stands among the options: no option has this name. */
const operandKey = '';

/** What was typed, as far as a message needs it. */
function shortened(value: string | true | undefined): string | true | undefined {
  return typeof value === 'string' && value.length > 40 ? `${value.slice(0, 40)}…` : value;
}

/** Written out: `1e3`, `0x10`, `007 ` and `+1` are more often slips than wishes. */
const wholeNumberForm = /^-?(?:0|[1-9][0-9]*)$/;
const decimalForm = /^-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?$/;
/** A value that begins with a hyphen all the same: a negative number, to be refused as a number. */
const negativeNumber = /^-[0-9.]/;

/**
 * Options by name. Each at most once, a switch without and any other with a value.
 * @throws ChambersideError `usage-unknown-option`.
 */
function parseWords(command: Command, words: readonly string[]): Record<string, string | true | undefined> {
  const described = new Map<string, string | null>(command.options.map(({ name, value }) => [name, value]));
  described.set('json', null).set('help', null);
  const options = Object.fromEntries(
    [...described].map(([name, value]) => [
      name,
      { type: value === null ? ('boolean' as const) : ('string' as const) },
    ]),
  );
  // Not strict: what is wrong is said below, in our words and with what to do about it.
  const { tokens } = parseArgs({ args: [...words], options, strict: false, allowPositionals: true, tokens: true });
  const where = `chamberside ${command.name}`;
  const parsed: Record<string, string | true | undefined> = {};
  for (const token of tokens) {
    if (token.kind === 'positional' && command.operand !== undefined && parsed[operandKey] === undefined) {
      if (command.operand.words?.includes(token.value) === false) {
        const what = `${JSON.stringify(token.value)} is not one of ${command.operand.words.join(', ')}`;
        throw usage(command, what, where);
      }
      parsed[operandKey] = token.value;
      continue;
    }
    if (token.kind !== 'option') {
      const word = token.kind === 'positional' ? token.value : '--';
      throw usage(command, `${JSON.stringify(word)} belongs to no option`, where);
    }
    const { name, rawName, value, inlineValue } = token;
    const placeholder = rawName.startsWith('--') ? described.get(name) : undefined;
    if (placeholder === undefined) throw usage(command, `there is no option ${rawName}`, where);
    if (parsed[name] !== undefined) throw usage(command, `${rawName} is given twice`, where);
    if (placeholder === null) {
      if (value !== undefined) throw usage(command, `${rawName} takes no value`, where);
      parsed[name] = true;
    } else {
      // The next word is taken for the value whatever it is; `--study --json` forgot one.
      const isForgotten = value === undefined || (!inlineValue && value.startsWith('-') && !negativeNumber.test(value));
      if (isForgotten) throw usage(command, `${rawName} lacks its value, ${placeholder}`, where);
      parsed[name] = value;
    }
  }
  return parsed;
}
