import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { unitNames } from '../../../src/model/unit.ts';
import { lineIdentification } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { commandSchema, longestLineBytesSchema, terminatorSchema } from '../../framing/settings.ts';
import { decodeAnswer, identifyCommand, multimeterQuantities } from './codec.ts';
import { openMultimeter } from './driver.ts';

/** Settings of a photometer whose analogue output is read by a bench multimeter. */
export const multimeterSettingsSchema = z
  .strictObject({
    terminator: terminatorSchema,
    /** Sent once when the conversation begins, without an answer: function, range, integration. Default none. */
    setup: z.array(commandSchema).max(20).default([]),
    /** Asks for one voltage. Default `MEAS:VOLT:DC?`. */
    query: commandSchema.default('MEAS:VOLT:DC?'),
    /** Between two questions, s, 0.02 to 60; null: nothing is asked. Default 0.2. */
    intervalSeconds: z.number().min(0.02).max(60).nullable().default(0.2),
    /** For one answer, s, 0.05 to 60. Default 1. */
    timeoutSeconds: z.number().min(0.05).max(60).default(1),
    /** No reading for longer than this is a problem, s. Default 3. */
    silenceLimitSeconds: z.number().positive().max(600).default(3),
    /** Unit of the concentration. Default mg/m3. */
    unit: z.enum(unitNames).default('mg/m3'),
    /** Both ends of the output: its voltages, V, default 0 and 5 … */
    lowVolts: z.number().default(0),
    highVolts: z.number().default(5),
    /** … and the concentrations that they stand for, in `unit`, default 0 and 100. */
    lowConcentration: z.number().default(0),
    highConcentration: z.number().default(100),
    /** How far beyond its ends the output may go, share of the range, 0 to 1. Default 0.02. */
    overRange: z.number().min(0).max(1).default(0.02),
    /** Smallest step worth showing, V. Default 0.00001. */
    resolutionVolts: z.number().positive().default(0.000_01),
    longestLineBytes: longestLineBytesSchema,
  })
  .superRefine((settings, context) => {
    const problem = (message: string, field: string): void => {
      context.addIssue({ code: 'custom', message, path: [field] });
    };
    if (settings.highVolts <= settings.lowVolts) problem('must be above lowVolts', 'highVolts');
    if (settings.highConcentration === settings.lowConcentration) {
      problem('both ends are the same', 'highConcentration');
    }
    if (settings.intervalSeconds !== null && settings.silenceLimitSeconds <= settings.intervalSeconds) {
      problem('must be longer than the interval', 'silenceLimitSeconds');
    }
  });
export type MultimeterSettings = z.output<typeof multimeterSettingsSchema>;

export const photometerMultimeterScpi: DriverManifest<MultimeterSettings> = {
  kind: 'photometer',
  dialect: 'multimeter-scpi',
  title: 'Aerosol photometer whose analogue output is read by a multimeter that speaks SCPI',
  serial: { baudRate: 9_600 },
  settings: multimeterSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, multimeterQuantities(settings), {
      expectedIntervalSeconds: settings.intervalSeconds,
      silenceLimitSeconds: settings.silenceLimitSeconds,
      plausible: {},
    }),
  identify(settings) {
    const { terminator, timeoutSeconds: limitSeconds } = settings;
    const fieldsOf = (line: string): readonly string[] | null => {
      const answer = decodeAnswer(line);
      return answer?.answer === 'identification' ? answer.fields : null;
    };
    return lineIdentification({
      ...{ terminator, question: identifyCommand, limitSeconds },
      fits: (line) => fieldsOf(line) !== null,
      // Maker, model and serial number; the fourth is the version of its program, which changes.
      told: (line) => fieldsOf(line)?.slice(0, 3).join(', ') ?? null,
    });
  },
  open: openMultimeter,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
