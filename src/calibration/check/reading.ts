import type { Rig } from '../../model/rig.ts';
import { checkReading } from '../rig-check.ts';
import type { CheckReading } from '../rig-check.ts';
import type { CheckRecord, CheckStream, StepRecord } from './step.ts';

/** Readings of one stretch, in order. */
export interface Stretch {
  /** µs since the check began. */
  readonly atMicroseconds: Float64Array;
  readonly values: Float64Array;
}

/** The photometer's stream of a record; null when it holds none. */
export function photometerOf(record: CheckRecord, rig: Rig): CheckStream | null {
  return (
    record.streams.find(
      ({ instrument, stream }) => instrument === rig.photometer && stream === rig.photometerStream,
    ) ?? null
  );
}

/** Finite readings in [from, to), µs since the check began. */
export function stretchBetween(stream: CheckStream | null, from: number, to: number): Stretch {
  const times: number[] = [];
  const values: number[] = [];
  for (const [index, at] of (stream?.atMicroseconds ?? []).entries()) {
    const value = stream?.values[index];
    if (at < from || at >= to || value === undefined || !Number.isFinite(value)) continue;
    times.push(at);
    values.push(value);
  }
  return { atMicroseconds: Float64Array.from(times), values: Float64Array.from(values) };
}

/** The step of a kind in a part; null when it was never come to. */
export function stepOf(record: CheckRecord, part: string, kind: StepRecord['step']['step']): StepRecord | null {
  return record.steps.find(({ step }) => step.part === part && step.step === kind) ?? null;
}

/** What was read in a part. */
export function stretchOf(record: CheckRecord, stream: CheckStream | null, part: string): Stretch {
  const step = stepOf(record, part, 'read');
  return stretchBetween(stream, step?.beganAtMicroseconds ?? 0, step?.endedAtMicroseconds ?? 0);
}

/** Mean of what the photometer read in a part; null where it read nothing. */
export function readingOf(record: CheckRecord, rig: Rig, part: string): CheckReading | null {
  return checkReading([...stretchOf(record, photometerOf(record, rig), part).values]);
}

/** Sentences about parts whose air never settled or of which there are too few readings. */
export function faultsOf(record: CheckRecord, rig: Rig): string[] {
  const faults: string[] = [];
  for (const { endedAtMicroseconds, beganAtMicroseconds, steady, step } of record.steps) {
    if (steady === false) {
      const seconds = ((endedAtMicroseconds - beganAtMicroseconds) / 1e6).toFixed(0);
      faults.push(`The air had not become steady after ${seconds} s (${step.part}).`);
    }
    if (step.step !== 'read') continue;
    const { values } = stretchOf(record, photometerOf(record, rig), step.part);
    if (values.length < fewestReadings) {
      faults.push(`Only ${values.length} readings came (${step.part}); ${fewestReadings} are needed.`);
    } else if (values.every((value) => value === values[0])) {
      faults.push(`The readings did not move at all (${step.part}): a fault, not a result.`);
    }
  }
  return faults;
}

/** Fewer readings than this show nothing. */
export const fewestReadings = 10;

/** Standard uncertainty of a mean of readings whose errors are independent. */
export function uncertaintyOfMean({ deviationReading, readings }: CheckReading): number {
  return deviationReading / Math.sqrt(readings);
}
