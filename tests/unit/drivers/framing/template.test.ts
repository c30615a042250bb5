import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compileTemplate } from '../../../../drivers/framing/template.ts';

const allowed = ['value', 'unit', 'any'];
const texts = (template: string, line: string): Record<string, string> | undefined => {
  const found = compileTemplate(template, allowed).match(line);
  return found && Object.fromEntries(Object.entries(found).map(([token, { text }]) => [token, text]));
};

describe('line template', () => {
  it.each([
    ['conc {value} {unit}', 'conc 1 mg/m3', { value: '1', unit: 'mg/m3' }],
    ['conc {value} {unit}', '  conc \t  1   mg/m3 \r', { value: '1', unit: 'mg/m3' }],
    ['{value}', '', { value: '' }],
    ['{value}', ' a b ', { value: 'a b' }],
    ['{any},{value},{any}', '07:30,12.5,x,y', { value: '12.5' }],
    ['<{value}>', '< 5 >', { value: '5' }],
    ['A={value};', 'A=;', { value: '' }],
  ])('%j takes %j', (template, line, expected) => {
    expect(texts(template, line)).toEqual(expected);
  });

  it.each([
    ['conc {value} {unit}', 'conc 1'],
    ['conc {value} {unit}', 'conc1 mg/m3'],
    ['conc {value}', 'CONC 1'],
    ['<{value}>', '<5> more'],
    ['{any},{value}', 'no comma'],
    ['abc', 'abcd'],
    ['abc', ''],
  ])('%j does not take %j', (template, line) => {
    expect(texts(template, line)).toBeUndefined();
  });

  it.each([
    ['', 'empty'],
    ['   ', 'empty'],
    ['{value', 'without }'],
    ['value}', 'without {'],
    ['{other}', 'no token here'],
    ['{value}{unit}', 'literal between'],
    ['{value} {value}', 'twice'],
    ['a\n{value}', 'printable'],
    ['€{value}', 'printable'],
  ])('refuses %j: %s', (template, message) => {
    expect(() => compileTemplate(template, allowed)).toThrow(message);
  });

  it('formats what it matches', () => {
    const word = fc.string({ unit: fc.constantFrom('a', 'b', '1', '.', '-'), minLength: 1, maxLength: 8 });
    fc.assert(
      fc.property(word, word, (value, unit) => {
        const template = compileTemplate('x {value}  {unit} *', allowed);
        const line = template.format({ value, unit });
        expect(line).toBe(`x ${value} ${unit} *`);
        expect(template.match(line)?.['value']?.text).toBe(value);
        expect(template.match(line)?.['unit']?.text).toBe(unit);
      }),
    );
  });

  it('costs time linear in the line, for a line made to provoke backtracking', () => {
    const template = compileTemplate('{any}a{any}a{any}a{any}a{any}a{value}b', allowed);
    const timeFor = (length: number): number => {
      const line = 'a'.repeat(length);
      let best = Infinity;
      for (let run = 0; run < 5; run += 1) {
        const begin = performance.now();
        for (let count = 0; count < 20; count += 1) expect(template.match(line)).toBeUndefined();
        best = Math.min(best, performance.now() - begin);
      }
      return best;
    };
    timeFor(1_000);
    expect(timeFor(200_000)).toBeLessThan(Math.max(20, timeFor(20_000) * 60));
  });
});
