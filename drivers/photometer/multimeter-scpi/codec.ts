import type { ProblemCode } from '../../../src/model/reading.ts';
import { parseDecimal, shown } from '../../framing/decimal.ts';
import type { Quantity } from '../../framing/quantity.ts';
import type { MultimeterSettings } from './manifest.ts';

/**
 * What a multimeter says. Forms of numbers (NR1 `123`, NR2 `1.23`, NR3 `+1.23E+02`) and of the identification are those
 * of IEEE 488.2; not-a-number (9.91E37), infinity (±9.9E37) and the error queue are those of SCPI 1999.0.
 */
export type MultimeterAnswer =
  | { readonly answer: 'volts'; readonly volts: number }
  /** It answers, and has no value. */
  | { readonly answer: 'no-value'; readonly detail: string }
  | { readonly answer: 'identification'; readonly fields: readonly string[] }
  /** Newest of its errors; 0 is none. */
  | { readonly answer: 'error'; readonly code: number; readonly text: string };

export const identifyCommand = '*IDN?';
export const errorCommand = 'SYST:ERR?';
export const notANumber = 9.91e37;
export const infinity = 9.9e37;

const errorForm = /^([+-]?[0-9]{1,6}) *, *"(.*)"$/;

/** A line of a multimeter, whatever was asked. Undefined for anything else. Never throws. */
export function decodeAnswer(line: string): MultimeterAnswer | undefined {
  const text = line.trim();
  const number = parseDecimal(text, '.');
  if (number !== undefined) {
    if (number === notANumber) return { answer: 'no-value', detail: 'it has no value (9.91E37)' };
    if (Math.abs(number) >= infinity) return { answer: 'no-value', detail: `overload (${text})` };
    return { answer: 'volts', volts: number };
  }
  const error = errorForm.exec(text);
  if (error !== null) return { answer: 'error', code: Number(error[1]), text: error[2] ?? '' };
  const fields = text.split(',').map((field) => field.trim());
  return fields.length === 4 && fields.every((field) => /^[\u0020-\u007e]*$/.test(field)) && fields[0] !== ''
    ? { answer: 'identification', fields }
    : undefined;
}

/** Why a line is no answer. */
export function undecodable(line: string): { readonly code: ProblemCode; readonly detail: string } {
  return { code: 'line-undecodable', detail: `${shown(line)} is no answer of a multimeter` };
}

/** The concentration of a voltage, in `settings.unit`: the straight line through both ends of the range. */
export function concentrationOf(volts: number, settings: MultimeterSettings): number {
  const { lowVolts, highVolts, lowConcentration, highConcentration } = settings;
  const share = (volts - lowVolts) / (highVolts - lowVolts);
  return lowConcentration + share * (highConcentration - lowConcentration);
}

/** The voltage of a concentration. For simulators. */
export function voltsOf(concentration: number, settings: MultimeterSettings): number {
  const { lowVolts, highVolts, lowConcentration, highConcentration } = settings;
  const share = (concentration - lowConcentration) / (highConcentration - lowConcentration);
  return lowVolts + share * (highVolts - lowVolts);
}

/** NR3 with seven digits; what has no value and what is beyond the range as SCPI says it. */
export function encodeVolts(volts: number): string {
  if (Number.isNaN(volts)) return '+9.91000000E+37';
  const value = volts === Number.POSITIVE_INFINITY ? infinity : volts === Number.NEGATIVE_INFINITY ? -infinity : volts;
  const [mantissa = '0', exponent = '+0'] = Math.abs(value).toExponential(8).split('e');
  const digits = exponent.slice(1).padStart(2, '0');
  return `${value < 0 ? '-' : '+'}${mantissa}E${exponent.charAt(0)}${digits}`;
}

/** Voltage as it was said, and the concentration that it stands for; outside the range both are kept and reported. */
export function multimeterQuantities(settings: MultimeterSettings): readonly Quantity[] {
  const { lowVolts, highVolts, lowConcentration, highConcentration, overRange } = settings;
  const volts = (highVolts - lowVolts) * overRange;
  const perVolt = Math.abs(highConcentration - lowConcentration) / (highVolts - lowVolts);
  return [
    {
      stream: 'concentration',
      unit: settings.unit,
      resolution: settings.resolutionVolts * perVolt,
      plausibleLow: null,
      plausibleHigh: null,
    },
    {
      stream: 'voltage',
      unit: 'V',
      resolution: settings.resolutionVolts,
      plausibleLow: lowVolts - volts,
      plausibleHigh: highVolts + volts,
    },
  ];
}
