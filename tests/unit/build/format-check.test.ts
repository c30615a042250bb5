import { describe, expect, it } from 'vitest';
import { formatProblems } from '../../../build/format-check.mjs';

describe('format check', () => {
  it.each([
    ['clean code', 'a.ts', 'const a = 1;\n', []],
    ['an empty file', 'a.ts', '', []],
    ['a line of exactly 120 columns', 'a.ts', `${'a'.repeat(120)}\n`, []],
    ['a line of 121 columns', 'a.ts', `${'a'.repeat(121)}\n`, ['line 1: 121 columns, at most 120']],
    ['a long line of prose', 'a.md', `${'a'.repeat(400)}\n`, []],
    ['no newline at the end', 'a.ts', 'const a = 1;', ['no newline at the end']],
    ['an empty line at the end', 'a.ts', 'const a = 1;\n\n', ['an empty line at the end']],
    ['white space at the end of a line', 'a.md', 'one \ntwo\n', ['line 1: white space at the end']],
    ['a carriage return', 'a.ts', 'one\r\n', ['line 1: carriage return']],
    ['a tab', 'a.ts', '  \tone\n', ['line 1: tab']],
    ['a file of another kind', 'capture.bin', 'one \r\n\t', []],
  ])('%s', (_, file, content, expected) => {
    expect(formatProblems(file, content)).toEqual(expected);
  });
});
