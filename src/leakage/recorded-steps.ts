import { combineSteps, fewestRepeats, fitStep, type StepFit, type StepResponse } from '../calibration/step-response.ts';
import { ChambersideError } from '../model/error-code.ts';
import { streamOf, type TrialRecord } from '../model/trial-record.ts';
import { commonDelayMicroseconds } from './alignment.ts';
import { arrivalOf, type LeftOut } from './left-out.ts';
import { prepareReadings } from './readings.ts';
import { recordedDwells } from './recorded-dwell.ts';
import type { Interval } from './window.ts';

/** One fall from the chamber reference into filtered air, as it was recorded. */
export interface RecordedStep {
  readonly dwell: number;
  /** Confirmation of the valve, trial time, µs. */
  readonly atMicroseconds: number;
  /** Null where it could not be fitted; `reason` says why. */
  readonly fit: StepFit | null;
  readonly reason: string | null;
}

export interface TrialResponse {
  readonly steps: readonly RecordedStep[];
  readonly response: StepResponse;
}

/** Readings before the change that say what was there, µs. */
const leadMicroseconds = 3_000_000;

/**
 * Transit and time constant from the falls into filtered air that a trial holds: every zero right after a reference.
 * Times count from the middle of the valve's movement, half of its stated time before it confirms; a valve that
 * confirms later than it arrives makes the transit look shorter. The transit is that of the common line with the delay
 * inside the photometer.
 * @throws ChambersideError `record-insufficient` without a bypass (the line of the filtered air then holds stale air,
 * and no step arrives), without readings of the photometer, or with fewer than five falls that can be fitted.
 */
export function trialResponse(record: TrialRecord, leftOut: readonly LeftOut[] = []): TrialResponse {
  const { rig, header } = record;
  if (!rig.bypass) throw insufficient(header.trial, 'no step arrives without a bypass: the line holds stale air');
  const stream = streamOf(record, rig.photometer, rig.photometerStream);
  if (stream === undefined) throw insufficient(header.trial, 'there are no readings of the photometer');
  const readings = prepareReadings(stream);
  const guess = {
    transitSeconds: rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value,
    timeConstantSeconds: rig.timeConstantSeconds.value,
  };
  const dwells = recordedDwells(record.events);
  const steps: RecordedStep[] = [];
  for (const [index, recorded] of dwells.entries()) {
    const before = dwells[index - 1];
    const change = recorded.acknowledgedAtMicroseconds;
    if (recorded.dwell.purpose !== 'zero' || before?.dwell.purpose !== 'reference' || change === null) continue;
    if (before.port !== 'confirmed' || recorded.port !== 'confirmed') continue;
    const from = Math.max(before.acknowledgedAtMicroseconds ?? change, change - leadMicroseconds);
    const to = recorded.releasedAtMicroseconds ?? Number.POSITIVE_INFINITY;
    const middle = change - (rig.valveSwitchingSeconds / 2) * 1e6;
    const ports = rig.ports.filter(({ port }) => port === recorded.dwell.port || port === before.dwell.port);
    // The ends of the fall come in as late as the air takes from the valve.
    const late = commonDelayMicroseconds(rig);
    const fall = { fromMicroseconds: from, toMicroseconds: to + late };
    if (ports.some((port) => leftOut.some((one) => overlaps(arrivalOf(one, rig, port), fall)))) {
      const reason = 'a part of it is left out';
      steps.push({ dwell: recorded.dwell.dwell, atMicroseconds: change, fit: null, reason });
      continue;
    }
    const inside = readings.atMicroseconds.map((at) => (at >= from && at <= to ? 1 : 0));
    const part = (values: Float64Array): Float64Array => values.filter((_, place) => inside[place] === 1);
    const seconds = part(readings.atMicroseconds).map((at) => (at - middle) / 1e6);
    try {
      const fit = fitStep({ seconds, values: part(readings.values) }, guess);
      steps.push({ dwell: recorded.dwell.dwell, atMicroseconds: change, fit, reason: null });
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      steps.push({ dwell: recorded.dwell.dwell, atMicroseconds: change, fit: null, reason: error.message });
    }
  }
  const fits = steps.map(({ fit }) => fit).filter((fit) => fit !== null);
  if (fits.length < fewestRepeats) {
    throw insufficient(header.trial, `${fits.length} falls can be fitted, and ${fewestRepeats} are needed`);
  }
  return { steps, response: combineSteps(fits, readings.intervalMicroseconds / 1e6) };
}

function overlaps(one: Interval | null, other: Interval): boolean {
  if (one === null) return false;
  return one.fromMicroseconds < other.toMicroseconds && other.fromMicroseconds < one.toMicroseconds;
}

function insufficient(trial: string, what: string): ChambersideError {
  return new ChambersideError(
    'record-insufficient',
    what,
    `trial ${trial}`,
    'Record five zeros, each right after a chamber reference, on a rig whose bypass draws through every line.',
  );
}
