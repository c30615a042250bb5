import type { NowView } from './now.ts';
import { plannedWindow } from '../../../leakage/provisional.ts';
import type { Method } from '../../../model/method.ts';
import type { Rig } from '../../../model/rig.ts';
import type { Step } from '../../../series/schedule.ts';
import type { TrialMachine } from '../../../trial/machine-state.ts';

/** Readings that stay away for this many of their intervals, and at least half a second, are no readings. */
const missedIntervals = 5;
const leastMissedMicroseconds = 500_000;

export interface AirInput {
  readonly machine: TrialMachine;
  readonly step: Step;
  readonly rig: Rig;
  readonly method: Method;
  readonly nowMicroseconds: number;
  /** Arrival of the newest photometer reading, trial time; null before the first. */
  readonly newestReadingMicroseconds: number | null;
  /** Between readings when all is well, µs; 0 when not known. */
  readonly intervalMicroseconds: number;
}

export type AirView = Pick<NowView, 'air' | 'usableFromMicroseconds'>;

/** What the air that arrives at the photometer now is good for. */
export function airView(input: AirInput): AirView {
  const { machine, step, rig, method, nowMicroseconds: now } = input;
  const { dwell, request } = machine;
  if (dwell === null || request === null || request.dwell !== dwell.dwell) {
    return { air: 'none', usableFromMicroseconds: null };
  }
  const quiet = now - (input.newestReadingMicroseconds ?? Number.NEGATIVE_INFINITY);
  const noReading = quiet > Math.max(leastMissedMicroseconds, missedIntervals * input.intervalMicroseconds);
  if (request.status === 'unconfirmed') return { air: 'unconfirmed', usableFromMicroseconds: null };
  if (noReading) return { air: 'no-reading', usableFromMicroseconds: null };
  const acknowledged = request.acknowledgedAtMicroseconds;
  const port = rig.ports.find((candidate) => candidate.port === request.port);
  if (request.status === 'requested' || acknowledged === null || port === undefined) {
    return { air: 'moving', usableFromMicroseconds: null };
  }
  const window = plannedWindow({ rig, method }, port, step.purpose, acknowledged, dwell.deadlineMicroseconds);
  if (window === null) return { air: 'settling', usableFromMicroseconds: null };
  const usableFromMicroseconds = window.fromMicroseconds;
  if (now < window.arrivalMicroseconds) return { air: 'transit', usableFromMicroseconds };
  if (now < window.fromMicroseconds) return { air: 'settling', usableFromMicroseconds };
  return { air: 'usable', usableFromMicroseconds: null };
}
