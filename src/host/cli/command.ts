import { parseArgs } from 'node:util';
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
  /** @throws ChambersideError `usage-bad-value` unless it is one of the words. */
  oneOf<Word extends string>(name: string, words: readonly Word[], otherwise: Word): Word;
}

export interface Command {
  readonly name: string;
  readonly summary: string;
  readonly options: readonly OptionDescription[];
  /** Further lines of the help: examples, what the exit code means here. */
  readonly notes: readonly string[];
  run(values: OptionValues, output: Output): Promise<ExitCode>;
}

/** The text that `chamberside COMMAND --help` prints. */
export function commandHelp(command: Command): string {
  const rows = [
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
  const options: Record<string, { type: 'string' | 'boolean' }> = {
    json: { type: 'boolean' },
    help: { type: 'boolean' },
  };
  for (const option of command.options) options[option.name] = { type: option.value === null ? 'boolean' : 'string' };
  let parsed: Record<string, string | boolean | undefined>;
  try {
    const result = parseArgs({ args: [...words], options, strict: true, allowPositionals: false });
    parsed = result.values;
  } catch (error) {
    throw usage(
      command,
      error instanceof Error ? firstSentence(error.message) : String(error),
      `chamberside ${command.name}`,
    );
  }
  const numberOf = (name: string, otherwise: number): number => {
    const text = parsed[name];
    if (text === undefined) return otherwise;
    const value = typeof text === 'string' && text.trim() !== '' ? Number(text) : Number.NaN;
    return value;
  };
  const badValue = (name: string, expected: string): ChambersideError =>
    new ChambersideError(
      'usage-bad-value',
      `${JSON.stringify(parsed[name])} is not ${expected}`,
      `--${name}`,
      `Give ${expected}.`,
    );
  return {
    help: parsed['help'] === true,
    json: parsed['json'] === true,
    has: (name) => parsed[name] !== undefined && parsed[name] !== false,
    text(name) {
      const value = parsed[name];
      if (typeof value !== 'string' || value === '')
        throw usage(command, `--${name} is missing`, `chamberside ${command.name}`);
      return value;
    },
    optional(name) {
      const value = parsed[name];
      return typeof value === 'string' ? value : undefined;
    },
    wholeNumber(name, range) {
      const value = numberOf(name, range.otherwise);
      if (!Number.isInteger(value) || value < range.least || value > range.most) {
        throw badValue(name, `a whole number from ${range.least} to ${range.most}`);
      }
      return value;
    },
    number(name, range) {
      const value = numberOf(name, range.otherwise);
      if (!Number.isFinite(value) || value < range.least || value > range.most) {
        throw badValue(name, `a number from ${range.least} to ${range.most}`);
      }
      return value;
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

function firstSentence(text: string): string {
  const end = text.indexOf('. ');
  return end < 0 ? text.replace(/\.$/, '') : text.slice(0, end);
}
