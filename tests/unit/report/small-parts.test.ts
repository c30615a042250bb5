import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cleanText, textOf, wire, words } from '../../../src/report/document.ts';
import { boldWidth, cutToWidth, escapeMarkup, linesOfBold, px, roughWidth } from '../../../src/report/figure.ts';
import { logAxis } from '../../../src/report/log-axis.ts';
import { dayInWords, momentInWords, trialTime } from '../../../src/report/moments.ts';
import { groupedNumber, partsInWords, readingText, statedText } from '../../../src/report/numbers.ts';

describe('a log axis', () => {
  it('holds every value above zero between its ends, with ticks that are round and inside', () => {
    const value = fc.double({ min: 1e-8, max: 1e6, noNaN: true });
    fc.assert(
      fc.property(fc.array(value, { minLength: 1, maxLength: 20 }), (values) => {
        const axis = logAxis(values, 100, 600);
        for (const one of values) {
          expect(axis.place(one)).toBeGreaterThanOrEqual(100 - 1e-6);
          expect(axis.place(one)).toBeLessThanOrEqual(600 + 1e-6);
        }
        expect(axis.ticks.length).toBeGreaterThanOrEqual(1);
        for (const tick of axis.ticks) expect(['1', '2', '5']).toContain(tick.toExponential().split(/[.e]/)[0]);
        expect(axis.place(axis.low)).toBeCloseTo(100);
        expect(axis.place(axis.high)).toBeCloseTo(600);
      }),
    );
  });

  it('stands without a value that has a place on it', () => {
    expect(logAxis([0, -1, Number.NaN], 0, 1).ticks).toEqual([0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1]);
  });
});

describe('numbers and moments in words', () => {
  it('give shares in parts that leave at least one', () => {
    expect(partsInWords(0.83)).toBe('8.3 of every 1000 parts');
    expect(partsInWords(12)).toBe('12 of every 100 parts');
    expect(partsInWords(0.0123)).toBe('1.2 of every 10\u00a0000 parts');
    expect(partsInWords(0)).toBeNull();
    expect(partsInWords(-1)).toBeNull();
    expect(partsInWords(1e-9)).toBeNull();
  });

  it('set thousands apart, keep units together, and know a proper minus', () => {
    expect(groupedNumber(1647)).toBe('1647');
    expect(groupedNumber(1234567)).toBe('1\u00a0234\u00a0567');
    expect(readingText(-0.00123456, 'mg/m3')).toBe('−0.001235\u00a0mg/m³');
    expect(readingText(2, 'furlong')).toBe('2.000\u00a0furlong');
    expect(statedText({ value: 1.2, standardUncertainty: 0.05 }, 's')).toBe('1.2\u00a0±\u00a00.05\u00a0s');
  });

  it('are in UTC, and leave alone what is no time in it', () => {
    expect(momentInWords('2026-11-26T23:59:59.900Z')).toBe('26 November 2026, 23:59:59 UTC');
    expect(dayInWords('2026-01-01T00:30:00+02:00')).toBe('2026-01-01T00:30:00+02:00');
    expect(dayInWords('soon')).toBe('soon');
    expect(trialTime(3_725_999_999)).toBe('62:05');
  });
});

describe('texts', () => {
  it('become one line in which nothing hides', () => {
    expect(cleanText('a\nb\t c')).toBe('a b c');
    expect(cleanText('a\u202Eb\u2069')).toBe('a[U+202E]b[U+2069]');
    expect(cleanText('a\u0000\ud800b')).toBe('a\ufffd\ufffdb');
    expect(cleanText('חליפה 防护服 😀')).toBe('חליפה 防护服 😀');
  });

  it('never become markup', () => {
    fc.assert(fc.property(fc.string(), (text) => !/[<>"']/.test(escapeMarkup(text))));
  });

  it('are put together in order', () => {
    expect(textOf(words`trial ${wire('t-1')} of ${3}`)).toBe('trial t-1 of 3');
  });

  it('are cut with a mark where there is no room', () => {
    expect(cutToWidth('Side bends', 11, 200)).toBe('Side bends');
    const cut = cutToWidth('Stepping, 13 a minute', 11, 60);
    expect(cut.endsWith('…')).toBe(true);
    expect(roughWidth(cut, 11)).toBeLessThanOrEqual(66);
    expect(cutToWidth('Stepping', 11, 4)).toBe('');
  });

  it('stand in lines of a width, broken where they may be, and cut only beyond the most lines', () => {
    expect(linesOfBold('Side bends', 10, 100, 2)).toEqual(['Side bends']);
    expect(linesOfBold('2. Arms above the head', 10, 70, 3)).toEqual(['2. Arms', 'above the', 'head']);
    expect(linesOfBold('Innenseite-links', 10, 70, 2)).toEqual(['Innenseite-', 'links'].slice(0, 2));
    expect(linesOfBold('Treppensteigen', 10, 41, 3)).toEqual(['Treppen', 'steigen']);
    expect(linesOfBold('one two three four', 10, 30, 2)).toEqual(['one', 'two…']);
    expect(linesOfBold('anything', 10, 4, 2)).toEqual([]);
    expect(linesOfBold('  !', 10, 12, 2)).toEqual(['!']);
    expect(linesOfBold('!    !', 10, 12, 2)).toEqual(['!', '!']);
    fc.assert(
      fc.property(fc.string(), fc.integer({ min: 12, max: 300 }), (text, width) => {
        const lines = linesOfBold(text, 10, width, 10_000);
        for (const one of lines) expect(boldWidth(one, 10)).toBeLessThanOrEqual(width);
        expect(lines.join('').replaceAll(/\s/g, '')).toBe(text.replaceAll(/\s/g, ''));
      }),
    );
  });

  it('write places in a drawing short and without powers of ten', () => {
    expect([px(0), px(-0.0001), px(1 / 3), px(1e-9), px(120)]).toEqual(['0', '0', '0.33', '0', '120']);
  });
});
