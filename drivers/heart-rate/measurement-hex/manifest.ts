import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import type { StreamDescriptor } from '../../../src/model/stream.ts';
import { lineIdentification, listeningSeconds } from '../../framing/identify.ts';
import { longestLineBytesSchema, terminatorSchema } from '../../framing/settings.ts';
import { decodeLine, rrIntervalMilliseconds } from './codec.ts';
import { openHeartRate } from './driver.ts';

/** Settings of a belt receiver that hands on one payload a line, in hex. */
export const heartRateSettingsSchema = z
  .strictObject({
    terminator: terminatorSchema,
    /** Between two payloads when all is well, s. Default 1. */
    expectedIntervalSeconds: z.number().positive().max(60).default(1),
    /** No heart rate for longer than this is a problem, s. Default 5. */
    silenceLimitSeconds: z.number().positive().max(600).default(5),
    /** Heart rates outside are kept and reported, per minute. Default 25 to 240. */
    plausibleLow: z.number().nullable().default(25),
    plausibleHigh: z.number().nullable().default(240),
    /** RR intervals outside are kept and reported, ms. Default 240 to 2400. */
    plausibleRrLow: z.number().nullable().default(240),
    plausibleRrHigh: z.number().nullable().default(2400),
    longestLineBytes: longestLineBytesSchema,
  })
  .superRefine((settings, context) => {
    const problem = (message: string, field: string): void => {
      context.addIssue({ code: 'custom', message, path: [field] });
    };
    if (settings.silenceLimitSeconds <= settings.expectedIntervalSeconds) {
      problem('must be longer than the expected interval', 'silenceLimitSeconds');
    }
    for (const [low, high] of [
      ['plausibleLow', 'plausibleHigh'],
      ['plausibleRrLow', 'plausibleRrHigh'],
    ] as const) {
      const lowest = settings[low];
      const highest = settings[high];
      if (lowest !== null && highest !== null && lowest >= highest) problem(`must be below ${high}`, low);
    }
  });
export type HeartRateSettings = z.output<typeof heartRateSettingsSchema>;

/** Streams of the dialect; RR intervals and energy come by event, so that their silence is normal. */
export function heartRateStreams(instrument: string, settings: HeartRateSettings): StreamDescriptor[] {
  const byEvent = { instrument, expectedIntervalSeconds: null, silenceLimitSeconds: null };
  return [
    {
      instrument,
      stream: 'heart-rate',
      unit: 'per-minute',
      resolution: 1,
      plausibleLow: settings.plausibleLow,
      plausibleHigh: settings.plausibleHigh,
      expectedIntervalSeconds: settings.expectedIntervalSeconds,
      silenceLimitSeconds: settings.silenceLimitSeconds,
    },
    {
      ...byEvent,
      stream: 'rr-interval',
      unit: 'ms',
      resolution: rrIntervalMilliseconds,
      plausibleLow: settings.plausibleRrLow,
      plausibleHigh: settings.plausibleRrHigh,
    },
    { ...byEvent, stream: 'energy', unit: 'kJ', resolution: 1, plausibleLow: null, plausibleHigh: null },
  ];
}

export const heartRateMeasurementHex: DriverManifest<HeartRateSettings> = {
  kind: 'heart-rate',
  dialect: 'measurement-hex',
  title: 'Heart-rate belt whose receiver prints Heart Rate Measurement payloads in hex',
  serial: { baudRate: 115_200 },
  settings: heartRateSettingsSchema,
  streams: heartRateStreams,
  identify: ({ expectedIntervalSeconds, silenceLimitSeconds, terminator }) =>
    lineIdentification({
      ...{ terminator, question: null },
      limitSeconds: listeningSeconds(expectedIntervalSeconds, silenceLimitSeconds),
      fits: (line) => decodeLine(line).decoded === 'measurement',
    }),
  // Flags and one byte of heart rate, as four digits.
  wireLoad: ({ expectedIntervalSeconds, terminator }) => ({
    ...{ of: 'line', characters: 4 + terminator.length },
    perSecond: 1 / expectedIntervalSeconds,
  }),
  open: openHeartRate,
};
