import { z } from 'zod';
import type { StreamDescriptor } from '../../src/model/stream.ts';
import type { Unit } from '../../src/model/unit.ts';

/** Something that an instrument measures: one stream, and the word that stands for it in templates and settings. */
export interface Quantity {
  readonly stream: string;
  readonly unit: Unit;
  /** Smallest step worth showing, in the unit. */
  readonly resolution: number;
  /** Readings outside are kept and reported, in the unit; null: no limit. */
  readonly plausibleLow: number | null;
  readonly plausibleHigh: number | null;
}

/** Limits that a rig states instead of those of the dialect, by stream. */
export type PlausibleLimits = Readonly<
  Partial<Record<string, { readonly low: number | null; readonly high: number | null }>>
>;

export interface Rhythm {
  /** Between two readings when all is well, s; null: they come by event. */
  readonly expectedIntervalSeconds: number | null;
  /** No reading for longer than this is a problem, s. */
  readonly silenceLimitSeconds: number;
  readonly plausible: PlausibleLimits;
}

/** Settings of limits, for quantities of these streams. Default: the limits of the dialect. */
export const plausibleSchema = (quantities: readonly Quantity[]) =>
  z
    .partialRecord(
      z.enum(quantities.map(({ stream }) => stream)),
      z
        .strictObject({ low: z.number().nullable(), high: z.number().nullable() })
        .refine(({ low, high }) => low === null || high === null || low < high, 'low must be below high'),
    )
    .default({});

/** The quantity with the limits that the rig states. */
export function withLimits(quantity: Quantity, plausible: PlausibleLimits): Quantity {
  const own = plausible[quantity.stream];
  return own === undefined ? quantity : { ...quantity, plausibleLow: own.low, plausibleHigh: own.high };
}

export function describeQuantities(
  instrument: string,
  quantities: readonly Quantity[],
  rhythm: Rhythm,
): StreamDescriptor[] {
  return quantities.map((quantity) => ({
    instrument,
    ...withLimits(quantity, rhythm.plausible),
    expectedIntervalSeconds: rhythm.expectedIntervalSeconds,
    silenceLimitSeconds: rhythm.silenceLimitSeconds,
  }));
}

/** What is wrong with a rhythm, in words; null when nothing is. */
export function rhythmProblem(rhythm: Pick<Rhythm, 'expectedIntervalSeconds' | 'silenceLimitSeconds'>): string | null {
  const { expectedIntervalSeconds, silenceLimitSeconds } = rhythm;
  return expectedIntervalSeconds !== null && silenceLimitSeconds <= expectedIntervalSeconds
    ? 'must be longer than the expected interval'
    : null;
}
