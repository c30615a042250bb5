import type { Port, Rig } from '../model/rig.ts';
import { toSeconds } from '../model/time.ts';
import type { Schedule } from './schedule.ts';

/** Least time of settled air for which moving the valve is worth while, s. */
export const leastUsableSeconds = 1;

/**
 * Shortest dwell on a port that can show anything of its air at all, s: the valve moves, the air travels to the
 * photometer (through the port's own line as well where no bypass keeps it fresh), and a second is left.
 * Settling is not counted: how much is needed is the method's choice, not the rig's.
 */
export function leastDwellSeconds(rig: Rig, port: Port): number {
  const stale = rig.bypass ? 0 : port.transitSeconds.value;
  return rig.valveSwitchingSeconds + stale + rig.commonTransitSeconds.value + leastUsableSeconds;
}

/** What a method takes away from a dwell. */
export interface UsableOptions {
  /** Fixed settling after a port's air has arrived, s, ≥ 0. */
  readonly settlingSeconds: number;
  /** The same for dwells on filtered air, s, ≥ 0. */
  readonly zeroSettlingSeconds: number;
  /** Standard deviations of the common line's dispersion kept away from the window's end, ≥ 0. */
  readonly guardDispersions: number;
}

/**
 * Seconds of a dwell that an assessment can use; negative by how much it is too short.
 *
 * On arrival time the window is [ack + T_common + settling, release + T_common − guard], with guard = k σ +
 * valve switching: the common transit delays both ends and drops out of the length. The acknowledgement comes
 * one valve switching after the request. Without bypass the line's stale air is waited out too (+ T_port).
 */
export function usableSeconds(
  dwellSeconds: number,
  rig: Rig,
  port: Port,
  settlingSeconds: number,
  guardDispersions: number,
): number {
  const guard = guardDispersions * rig.commonDispersionSeconds + rig.valveSwitchingSeconds;
  const stale = rig.bypass ? 0 : port.transitSeconds.value;
  return dwellSeconds - rig.valveSwitchingSeconds - stale - settlingSeconds - guard;
}

/** Predicted usable seconds of every step of a schedule, in order of the steps. */
export function predictUsableSeconds(schedule: Schedule, rig: Rig, options: UsableOptions): number[] {
  return schedule.steps.map((step) => {
    const port = rig.ports.find((candidate) => candidate.port === step.port);
    if (port === undefined) throw new RangeError(`the rig has no port ${step.port}: schedule of another rig`);
    const settling = step.purpose === 'zero' ? options.zeroSettlingSeconds : options.settlingSeconds;
    return usableSeconds(toSeconds(step.durationMicroseconds), rig, port, settling, options.guardDispersions);
  });
}
