import { z } from 'zod';
import { slugSchema } from '../model/identity.ts';
import type { Port, Rig } from '../model/rig.ts';
import { microsecondsSchema, toMicroseconds } from '../model/time.ts';
import { fullDelayMicroseconds } from './alignment.ts';
import type { Span } from './readings.ts';
import { within } from './readings.ts';
import type { Readings } from './readings.ts';
import type { Method } from '../model/method.ts';
import type { Interval } from './window.ts';

/**
 * A stretch of a trial that a reviewer leaves out, and why: half-open, trial time, µs. On `arrival` it takes out what
 * came in then; on `probe` what left the probe then, which comes in later by the way of the air from each probe.
 */
export const leftOutSchema = z
  .object({
    fromMicroseconds: microsecondsSchema,
    toMicroseconds: microsecondsSchema,
    time: z.enum(['arrival', 'probe']),
    /** Of the dwells at this probe only; null: of every dwell. */
    probe: slugSchema.nullable(),
    reason: z.string().trim().min(1).max(400),
  })
  .refine(({ fromMicroseconds, toMicroseconds: to }) => fromMicroseconds < to, {
    message: 'a stretch must end after it begins',
    path: ['toMicroseconds'],
  });
export type LeftOut = z.infer<typeof leftOutSchema>;

/** A stretch that was left out, with what it took: windows by their dwells, and how many readings of them. */
export const leftOutOfTrialSchema = z.object({
  ...leftOutSchema.shape,
  dwells: z.array(z.number().int().nonnegative()),
  readings: z.number().int().nonnegative(),
});
export type LeftOutOfTrial = z.infer<typeof leftOutOfTrialSchema>;

/** What is needed to know which readings are left out. */
export interface LeftOutContext {
  readonly rig: Rig;
  readonly method: Pick<Method, 'lagCorrection' | 'lagEndSeconds'>;
  readonly readings: Readings;
  readonly leftOut?: readonly LeftOut[];
}

/** A window of which less than this share of the readings is left has no value: a selection is no measurement. */
export const leastShareLeft = 0.5;

/** The arrival times at which a stretch takes readings from dwells of a port; null where it does not concern it. */
export function arrivalOf(stretch: LeftOut, rig: Rig, port: Port): Interval | null {
  if (stretch.probe !== null && stretch.probe !== port.probe) return null;
  const later = stretch.time === 'probe' ? fullDelayMicroseconds(rig, port) : 0;
  return {
    fromMicroseconds: stretch.fromMicroseconds + later,
    toMicroseconds: stretch.toMicroseconds + later,
  };
}

/** Every stretch that concerns a port, on arrival time, in order of time; they may overlap. */
export function arrivalsOf({ leftOut = [], rig }: LeftOutContext, port: Port): Interval[] {
  return leftOut
    .map((stretch) => arrivalOf(stretch, rig, port))
    .filter((interval) => interval !== null)
    .sort((one, other) => one.fromMicroseconds - other.fromMicroseconds);
}

/** The parts of an interval that no stretch covers, in order of time. */
export function keptIntervals(interval: Interval, leftOut: readonly Interval[]): Interval[] {
  const kept: Interval[] = [];
  let from = interval.fromMicroseconds;
  for (const stretch of leftOut) {
    if (stretch.fromMicroseconds > from) {
      const to = Math.min(stretch.fromMicroseconds, interval.toMicroseconds);
      if (to > from) kept.push({ fromMicroseconds: from, toMicroseconds: to });
    }
    from = Math.max(from, stretch.toMicroseconds);
  }
  if (interval.toMicroseconds > from) kept.push({ fromMicroseconds: from, toMicroseconds: interval.toMicroseconds });
  return kept;
}

/**
 * The readings of a span that are not left out, as spans in order of time. What is left between two stretches, or
 * between a stretch and an end of the span, goes with them where it is too short to be corrected for the lag: both of
 * its ends and a reading between them.
 * @returns the span itself where nothing is left out.
 */
export function keptSpans(context: LeftOutContext, port: Port, span: Span): Span[] {
  const { readings } = context;
  const at = (index: number): number => readings.atMicroseconds[index] ?? Number.NaN;
  if (span.end <= span.first) return [span];
  const whole = { fromMicroseconds: at(span.first), toMicroseconds: at(span.end - 1) + 1 };
  const leftOut = arrivalsOf(context, port);
  const touched = leftOut.some((stretch) => {
    const { first, end } = within(readings, stretch);
    return first < span.end && span.first < end && end > first;
  });
  if (!touched) return [span];
  const least = fewestPieceReadings(context);
  return keptIntervals(whole, leftOut)
    .map((interval) => within(readings, interval))
    .filter(({ end, first }) => end - first >= least);
}

/** Fewer readings than this between two stretches go with them. */
function fewestPieceReadings({ method, readings }: LeftOutContext): number {
  if (!method.lagCorrection || !(readings.intervalMicroseconds > 0)) return 3;
  return 2 * Math.max(1, Math.round(toMicroseconds(method.lagEndSeconds) / readings.intervalMicroseconds)) + 1;
}

/** How many readings spans hold together. */
export function readingsIn(spans: readonly Span[]): number {
  let count = 0;
  for (const { end, first } of spans) count += end - first;
  return count;
}
