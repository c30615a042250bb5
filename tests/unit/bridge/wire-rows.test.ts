import { describe, expect, it } from 'vitest';
import { shownByte, shownText, wireRows } from '../../../src/bridge/wire-rows.ts';
import type { WireEntry } from '../../../src/bridge/wire.ts';

const bytes = (text: string): WireEntry => ({
  entry: 'bytes',
  number: 7,
  atMicroseconds: 5,
  direction: 'in',
  hex: Buffer.from(text, 'latin1').toString('hex'),
});

describe('rows of a wire', () => {
  it('show text and digits of the same bytes, and end behind a line feed and at their width', () => {
    const rows = wireRows(bytes('ab\r\ncdefg'), 4);
    const all = { row: 'bytes', number: 7, atMicroseconds: 5, direction: 'in' };
    expect(rows).toEqual([
      { ...all, continued: false, text: 'ab␍␊', hex: '61 62 0d 0a' },
      { ...all, continued: true, text: 'cdef', hex: '63 64 65 66' },
      { ...all, continued: true, text: 'g', hex: '67' },
    ]);
    expect(wireRows(bytes(''), 4)).toEqual([]);
  });

  it('give every byte one character that can be seen, or is a space', () => {
    for (let byte = 0; byte < 256; byte += 1) {
      const shown = shownByte(byte);
      expect([...shown]).toHaveLength(1);
      expect(/[\p{C}\u00a0]/u.test(shown), `byte ${byte}`).toBe(false);
    }
  });

  it('let no control code through to a terminal', () => {
    expect(shownText('a\u001b[31mb\u009b2Jc\n')).toBe('a␛[31mb·2Jc␊');
  });
});
