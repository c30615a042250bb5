import { describe, expect, it } from 'vitest';
import { commandHelp, parseOptions, type Command } from '../../../../src/host/cli/command.ts';
import { formatPercent, formatTable } from '../../../../src/host/cli/table.ts';
import { isChambersideError } from '../../../../src/model/error-code.ts';

const command: Command = {
  name: 'measure',
  summary: 'measure something',
  options: [
    { name: 'seed', value: 'N', help: 'whole number, default 1' },
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'resume', value: null, help: 'go on with an unfinished trial' },
  ],
  notes: ['A note.'],
  run: () => Promise.resolve(0),
};

function codeOf(action: () => unknown): string {
  try {
    action();
  } catch (error) {
    if (isChambersideError(error)) return error.code;
    throw error;
  }
  return 'none';
}

describe('options of a command', () => {
  it('parses values, switches and defaults', () => {
    const values = parseOptions(command, ['--seed', '7', '--study=a.chamberside', '--resume', '--json']);
    expect(values.wholeNumber('seed', { least: 0, most: 10, otherwise: 1 })).toBe(7);
    expect(values.text('study')).toBe('a.chamberside');
    expect(values.has('resume')).toBe(true);
    expect(values.json).toBe(true);
    const plain = parseOptions(command, []);
    expect(plain.wholeNumber('seed', { least: 0, most: 10, otherwise: 1 })).toBe(1);
    expect(plain.has('resume')).toBe(false);
    expect(codeOf(() => plain.text('study'))).toBe('usage-unknown-option');
  });

  it.each([
    [['--unknown'], 'there is no option --unknown'],
    [['--unknown=3'], 'there is no option --unknown'],
    [['-s', '3'], 'there is no option -s'],
    [['stray'], '"stray" belongs to no option'],
    [['--', 'stray'], '"--" belongs to no option'],
    [['--resume', 'stray'], '"stray" belongs to no option'],
    [['--seed'], '--seed lacks its value, N'],
    [['--study', '--json'], '--study lacks its value, FILE'],
    [['--resume=yes'], '--resume takes no value'],
    [['--seed', '1', '--seed', '2'], '--seed is given twice'],
  ])('refuses %j as wrong usage, in its own words', (words, what) => {
    const refused = expect.objectContaining({
      code: 'usage-unknown-option',
      what,
      remedy: 'See: npx --no-install chamberside measure --help',
    }) as Error;
    expect(() => parseOptions(command, words)).toThrow(refused);
  });

  it.each(['7.5', 'seven', '', ' ', ' 7', '-1', '11', 'Infinity', '1e0', '1e3', '0x10', '0x1', '07', '+7', '7.0'])(
    'refuses --seed %j, written together or apart',
    (text) => {
      for (const words of [[`--seed=${text}`], ['--seed', text]]) {
        const values = parseOptions(command, words);
        expect(() => values.wholeNumber('seed', { least: 0, most: 10, otherwise: 1 })).toThrow(
          expect.objectContaining({
            code: 'usage-bad-value',
            what: `${JSON.stringify(text)} is not a whole number from 0 to 10`,
            where: '--seed',
          }),
        );
      }
    },
  );

  it.each(['0x10', '1e1', '.5', '5.', 'NaN', '', '-0.5'])('refuses %j as a number', (text) => {
    const values = parseOptions(command, ['--seed', text]);
    expect(codeOf(() => values.number('seed', { least: 0, most: 100, otherwise: 1 }))).toBe('usage-bad-value');
  });

  it.each(['', '  '])('refuses %j as a text', (text) => {
    const values = parseOptions(command, ['--study', text]);
    expect(codeOf(() => values.optional('study'))).toBe('usage-bad-value');
    expect(codeOf(() => values.text('study'))).toBe('usage-bad-value');
  });

  it('names every option in the help', () => {
    const help = commandHelp(command);
    for (const word of ['--seed N', '--study FILE', '(required)', '--resume', '--json', '--help', 'A note.']) {
      expect(help).toContain(word);
    }
  });
});

describe('tables', () => {
  it('aligns numbers right and words left', () => {
    const text = formatTable(
      [
        { heading: 'probe', align: 'left' },
        { heading: 'leakage', align: 'right' },
      ],
      [
        ['hood', '0.03'],
        ['lower-back', '12.5'],
      ],
    );
    expect(text.split('\n')).toEqual([
      'probe       leakage',
      '──────────  ───────',
      'hood           0.03',
      'lower-back     12.5',
    ]);
  });

  it.each([
    [null, '–'],
    [0, '0'],
    [0.031234, '0.0312'],
    [1.6049, '1.60'],
    [16.04, '16.0'],
    [123.4, '123'],
    [-0.00123, '-0.00123'],
    [Number.NaN, '–'],
  ])('prints %s as %s', (value, text) => {
    expect(formatPercent(value)).toBe(text);
  });
});
