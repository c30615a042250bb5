import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { unitNames } from '../../../src/model/unit.ts';
import { lineIdentification, listeningSeconds } from '../../framing/identify.ts';
import { commandSchema, longestLineBytesSchema, terminatorSchema, wireWordSchema } from '../../framing/settings.ts';
import { checksumSettingsProblem } from '../../framing/line-checksum.ts';
import { compileTemplate } from '../../framing/template.ts';
import { createPhotometerCodec, lineTokens } from './codec.ts';
import { openPhotometer } from './driver.ts';

const unitSchema = z.enum(unitNames);

/** Settings of a photometer that prints lines; the defaults are the line of our virtual instrument. */
export const photometerSettingsSchema = z
  .strictObject({
    /** What a line looks like: literals and {value}, {unit}, {status}, {checksum}, {any}. */
    line: z.string().max(200).default('conc {value} {unit} {status} *{checksum}'),
    /** Unit in which the stream is delivered, and that of a line that names none. Default mg/m3. */
    unit: unitSchema.default('mg/m3'),
    /** How the instrument writes units, where it differs from our names: `{ "mg/m^3": "mg/m3" }`. */
    unitWords: z.record(wireWordSchema, unitSchema).default({}),
    /** Mark between whole and fraction: `.` (default) or `,`. */
    decimalMark: z.enum(['.', ',']).default('.'),
    terminator: terminatorSchema,
    /** `xor-hex` (default), `sum-hex` (modulo 256), both two hex digits, or `none`. */
    checksum: z.enum(['none', 'xor-hex', 'sum-hex']).default('xor-hex'),
    /** Bytes at the beginning of the line that the checksum does not cover, 0 (default) to 16. */
    checksumSkipsBytes: z.number().int().min(0).max(16).default(0),
    /**
     * What stands right before `{checksum}` and is not covered by it, up to 20 characters; null (default): the literal
     * characters there from the last `*` on, or all of them where none is a letter or a digit.
     */
    checksumMark: z.string().max(20).regex(/^\S*$/, 'blanks are always covered').nullable().default(null),
    /** Status words of a good reading. Default `ok`. */
    goodStatus: z.array(wireWordSchema).default(['ok']),
    /** Asks for each line; null (default) for an instrument that prints on its own. */
    poll: z
      .strictObject({
        command: commandSchema,
        /** Between two questions, s, 0.01 to 60. */
        intervalSeconds: z.number().min(0.01).max(60),
        /** For one answer, s, 0.01 to 60. Default 1. */
        timeoutSeconds: z.number().min(0.01).max(60).default(1),
      })
      .nullable()
      .default(null),
    /** Between two readings when all is well, s. Default 0.05. */
    expectedIntervalSeconds: z.number().positive().max(60).default(0.05),
    /** No reading for longer than this is a problem, s. Default 2. */
    silenceLimitSeconds: z.number().positive().max(600).default(2),
    /** Readings outside are kept and reported, in `unit`; null (default): no limit. */
    plausibleLow: z.number().nullable().default(null),
    plausibleHigh: z.number().nullable().default(null),
    /** Smallest step that the instrument prints, in `unit`. Default 0.00001. */
    resolution: z.number().positive().default(0.000_01),
    longestLineBytes: longestLineBytesSchema,
  })
  .superRefine((settings, context) => {
    const problem = (message: string, field: string): void => {
      context.addIssue({ code: 'custom', message, path: [field] });
    };
    let tokens: readonly string[];
    try {
      tokens = compileTemplate(settings.line, lineTokens).tokens;
    } catch (error) {
      problem(error instanceof Error ? error.message : String(error), 'line');
      return;
    }
    if (!tokens.includes('value')) problem('the line must hold {value}', 'line');
    const sum = checksumSettingsProblem(settings, tokens);
    if (sum !== null) problem(sum.message, sum.field);
    if (tokens.includes('status') && settings.goodStatus.length === 0) {
      problem('the line holds {status}: name at least one word that means good', 'goodStatus');
    }
    if (settings.silenceLimitSeconds <= settings.expectedIntervalSeconds) {
      problem('must be longer than the expected interval', 'silenceLimitSeconds');
    }
    if (
      settings.plausibleLow !== null &&
      settings.plausibleHigh !== null &&
      settings.plausibleLow >= settings.plausibleHigh
    ) {
      problem('must be below plausibleHigh', 'plausibleLow');
    }
  });
export type PhotometerSettings = z.output<typeof photometerSettingsSchema>;

export const photometerTextLines: DriverManifest<PhotometerSettings> = {
  kind: 'photometer',
  dialect: 'text-lines',
  title: 'Aerosol photometer that prints text lines',
  serial: { baudRate: 115_200 },
  settings: photometerSettingsSchema,
  streams: (instrument, settings) => [
    {
      instrument,
      stream: 'concentration',
      unit: settings.unit,
      resolution: settings.resolution,
      plausibleLow: settings.plausibleLow,
      plausibleHigh: settings.plausibleHigh,
      expectedIntervalSeconds: settings.expectedIntervalSeconds,
      silenceLimitSeconds: settings.silenceLimitSeconds,
    },
  ],
  identify(settings) {
    const codec = createPhotometerCodec(settings);
    const { expectedIntervalSeconds, poll, silenceLimitSeconds, terminator } = settings;
    return lineIdentification({
      terminator,
      question: poll?.command ?? null,
      limitSeconds: poll?.timeoutSeconds ?? listeningSeconds(expectedIntervalSeconds, silenceLimitSeconds),
      fits(line) {
        const decoded = codec.decode(line);
        return decoded.decoded === 'value' || decoded.code === 'status-bad';
      },
    });
  },
  wireLoad(settings) {
    const line = createPhotometerCodec(settings).encode(0, settings.goodStatus[0] ?? '');
    const interval = settings.poll?.intervalSeconds ?? settings.expectedIntervalSeconds;
    return { of: 'line', characters: line.length + settings.terminator.length, perSecond: 1 / interval };
  },
  open: openPhotometer,
  listening: (settings) => ({ ...settings, poll: null }),
};
