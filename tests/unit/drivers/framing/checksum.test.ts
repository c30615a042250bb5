import fc from 'fast-check';
import { expect, it } from 'vitest';
import { sumChecksum, xorChecksum } from '../../../../drivers/framing/checksum.ts';

it('gives two upper-case hex digits and finds every change of one character', () => {
  const latin1 = fc.string({
    unit: fc.integer({ min: 0, max: 255 }).map((code) => String.fromCharCode(code)),
    minLength: 1,
  });
  fc.assert(
    fc.property(latin1, fc.nat(), fc.integer({ min: 1, max: 255 }), (text, where, change) => {
      const index = where % text.length;
      const changed = String.fromCharCode(text.charCodeAt(index) ^ change);
      const other = text.slice(0, index) + changed + text.slice(index + 1);
      for (const checksum of [xorChecksum, sumChecksum]) {
        expect(checksum(text)).toMatch(/^[0-9A-F]{2}$/);
        expect(checksum(other)).not.toBe(checksum(text));
      }
    }),
  );
});
