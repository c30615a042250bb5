import type { Port, Rig } from '../model/rig.ts';
import { toMicroseconds } from '../model/time.ts';
import { commonDelayMicroseconds, fullDelayMicroseconds } from './alignment.ts';

/** Half-open interval [from, to) of arrival time, µs: a reading exactly at `from` belongs to it, at `to` not. */
export interface Interval {
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
}

/** The usable window of a dwell. */
export interface UsableWindow extends Interval {
  /** First moment at which this port's own, fresh air can show in a reading, arrival time, µs. */
  readonly arrivalMicroseconds: number;
}

/**
 * The usable window of a dwell, which belongs to the valve and not to the probe. With a bypass every line is full
 * of fresh air, so only the common line lies between valve and reading:
 *
 *     [ack + T_common + delay + settling, release + T_common + delay − guard)
 *
 * Without bypass the port's line holds stale air, which has to pass first: the beginning moves by T_port, the end
 * stays. Guard = guardDispersions · dispersion + switching time of the valve. Using the full transit at both ends
 * would take in the next port.
 *
 * @param acknowledgedMicroseconds when the valve confirmed the port.
 * @param releasedMicroseconds when it was asked to leave it.
 * @returns null when settling and guard leave nothing.
 */
export function usableWindow(
  rig: Rig,
  port: Port,
  acknowledgedMicroseconds: number,
  releasedMicroseconds: number,
  choice: { readonly settlingSeconds: number; readonly guardDispersions: number },
): UsableWindow | null {
  const arrivalMicroseconds =
    acknowledgedMicroseconds + (rig.bypass ? commonDelayMicroseconds(rig) : fullDelayMicroseconds(rig, port));
  const from = arrivalMicroseconds + toMicroseconds(choice.settlingSeconds);
  const to = releasedMicroseconds + commonDelayMicroseconds(rig) - guardMicroseconds(rig, choice.guardDispersions);
  return to > from ? { fromMicroseconds: from, toMicroseconds: to, arrivalMicroseconds } : null;
}

/** guardDispersions · standard deviation of the common line's residence time + switching time of the valve; µs. */
export function guardMicroseconds(rig: Rig, guardDispersions: number): number {
  return toMicroseconds(guardDispersions * rig.commonDispersionSeconds + rig.valveSwitchingSeconds);
}
