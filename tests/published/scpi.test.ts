import { describe, expect, it } from 'vitest';
import { decodeAnswer, encodeVolts } from '../../drivers/photometer/multimeter-scpi/codec.ts';

// IEEE 488.2: response data NR1 (whole), NR2 (fixed point), NR3 (exponent); 123 in each form is a usual example.
describe('numeric responses of IEEE 488.2', () => {
  it.each([
    ['123', 123],
    ['1.23', 1.23],
    ['1.23E+02', 123],
    ['+1.23E+02', 123],
    ['-5.5', -5.5],
    ['+0', 0],
    ['0.000E+00', 0],
    ['-1.234567E-03', -0.001_234_567],
  ])('%s is %d V', (text, volts) => {
    expect(decodeAnswer(text)).toEqual({ answer: 'volts', volts });
    expect(decodeAnswer(`${text}\r`)).toEqual({ answer: 'volts', volts });
  });

  it('identification has four fields: maker, model, serial, firmware; 0 where there is none', () => {
    expect(decodeAnswer('OWN WORKS,M-1,0,0')).toEqual({
      answer: 'identification',
      fields: ['OWN WORKS', 'M-1', '0', '0'],
    });
    expect(decodeAnswer('OWN WORKS,M-1,0')).toBeUndefined();
  });
});

describe('values and errors of SCPI 1999.0', () => {
  // Syntax and style, numbers: not a number is 9.91E37, infinity 9.9E37, its negative −9.9E37 (from memory).
  it.each(['9.91E37', '9.91E+37', '+9.91000000E+37'])('%s is not a number', (text) => {
    expect(decodeAnswer(text)).toMatchObject({ answer: 'no-value' });
  });
  it.each(['9.9E37', '9.90000000E+37', '-9.9E37', '-9.90000000E+37'])('%s is an overload', (text) => {
    const answer = decodeAnswer(text);
    expect(answer).toMatchObject({ answer: 'no-value' });
    expect(JSON.stringify(answer)).toContain('overload');
  });
  it('a large voltage is one', () => {
    expect(decodeAnswer('9.8E37')).toEqual({ answer: 'volts', volts: 9.8e37 });
  });

  // SYSTem:ERRor?: number, comma, text in quotation marks; numbers and texts of the standard's list (from memory).
  it.each([
    ['0,"No error"', 0, 'No error'],
    ['+0,"No error"', 0, 'No error'],
    ['-113,"Undefined header"', -113, 'Undefined header'],
    ['-222, "Data out of range"', -222, 'Data out of range'],
    ['-350,"Queue overflow"', -350, 'Queue overflow'],
    ['-410,"Query INTERRUPTED"', -410, 'Query INTERRUPTED'],
  ])('%s', (line, code, text) => {
    expect(decodeAnswer(line)).toEqual({ answer: 'error', code, text });
  });
  it.each(['', 'nonsense', '-113,Undefined header', '1.2.3', '1,2,3', '#15HELLO', 'nan', 'inf', '0x10'])(
    '%j is none of these',
    (line) => {
      expect(decodeAnswer(line)).toBeUndefined();
    },
  );

  it('are said by the simulated multimeter in the same forms', () => {
    expect(encodeVolts(1.25)).toBe('+1.25000000E+00');
    expect(encodeVolts(-0.000_123)).toBe('-1.23000000E-04');
    expect(encodeVolts(Number.NaN)).toBe('+9.91000000E+37');
    expect(encodeVolts(Number.POSITIVE_INFINITY)).toBe('+9.90000000E+37');
    expect(encodeVolts(Number.NEGATIVE_INFINITY)).toBe('-9.90000000E+37');
  });
});
