import type { TrialRecord } from '../../src/model/trial-record.ts';
import { gaussianSource } from './gaussian.ts';
import { withReadings, type Place } from './spoiled-trial.ts';
import { nominal, syntheticTrial, type SyntheticOptions } from './synthetic-trial.ts';

const noise = 4e-5;
/** As much in every line as if it were diluted like the others, so that it shows in all; zeros that stay. */
export const options: SyntheticOptions = { noise, zeroDrift: 0, background: 5e-4, timeConstantSeconds: 1 };
export const open = syntheticTrial(options).record;
/** What filtered air reads in a synthetic trial without drift. */
const zeroReading = 0.05;

/** The record as if nothing came through the line from one moment to another: what was there decays with 1 s. */
export function blocked(record: TrialRecord, from: number, to: number): TrialRecord {
  const gaussian = gaussianSource(7);
  const times = record.streams[0]?.atMicroseconds.filter((at) => from <= at && at < to) ?? new Float64Array();
  let level: number | null = null;
  let index = 0;
  return withReadings(
    from,
    to,
    (value) => {
      level ??= value - zeroReading;
      const seconds = ((times[index] ?? from) - from) / 1e6;
      index += 1;
      return zeroReading + level * Math.exp(-seconds) + noise * nominal * gaussian();
    },
    record,
  );
}
/** All that a dwell gave: from a second after the valve has moved to where the next port's air arrives. */
export const whole = (record: TrialRecord, { from, to }: Place): TrialRecord => blocked(record, from + 1e6, to + 0.9e6);

/** The same, and what flows again is seen through a photometer of 1 s. */
export function freed(record: TrialRecord, from: number, to: number): TrialRecord {
  const still = blocked(record, from, to);
  const times = (record.streams[0]?.atMicroseconds ?? new Float64Array()).filter((at) => to <= at && at < to + 12e6);
  let index = 0;
  return withReadings(
    to,
    to + 12e6,
    (value) => {
      const seconds = ((times[index] ?? to) - to) / 1e6;
      index += 1;
      return zeroReading + (value - zeroReading) * (1 - Math.exp(-seconds));
    },
    still,
  );
}
