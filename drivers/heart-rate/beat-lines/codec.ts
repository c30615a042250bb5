import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** What a line holds. */
export const beatLineQuantities: readonly Quantity[] = [
  { stream: 'rr-interval', unit: 'ms', resolution: 1, plausibleLow: 240, plausibleHigh: 2400 },
];

/** What is delivered: the heart rate is made of the newest intervals. */
export const beatQuantities: readonly Quantity[] = [
  { stream: 'heart-rate', unit: 'per-minute', resolution: 0.1, plausibleLow: 25, plausibleHigh: 240 },
  ...beatLineQuantities,
];

/** A receiver that prints the interval and nothing else. */
export const beatLineDefaults: ValueLineDefaults = {
  quantities: beatLineQuantities,
  line: '{rr-interval}',
  checksum: 'none',
  expectedIntervalSeconds: null,
  silenceLimitSeconds: 5,
};

export const createBeatCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, beatLineQuantities);

/** The heart rate of the newest beats. */
export interface BeatAverage {
  /** @returns per minute, over the intervals kept with this one (ms, > 0). */
  add(intervalMilliseconds: number): number;
  /** A beat was lost: those before do not hang together with those that come. */
  forget(): void;
}

/** @param beats intervals that are kept, ≥ 1. */
export function createBeatAverage(beats: number): BeatAverage {
  let kept: number[] = [];
  return {
    add(intervalMilliseconds) {
      kept = [...kept, intervalMilliseconds].slice(-beats);
      return (60_000 * kept.length) / kept.reduce((sum, interval) => sum + interval, 0);
    },
    forget() {
      kept = [];
    },
  };
}
