import type { Port, Rig } from '../model/rig.ts';
import { toMicroseconds } from '../model/time.ts';

/**
 * Three times belong to a photometer reading and must not be mixed up:
 * - arrival: when its line came in; windows are cut on this axis;
 * - probe time: when that air left the probe; leakage is joined to exercise, breath and challenge on this axis;
 * - dwell time: since the valve acknowledged the port.
 */

/** How much later than at the probe air of this port shows in a reading: port line, common line, instrument; µs. */
export function fullDelayMicroseconds(rig: Rig, port: Port): number {
  return toMicroseconds(port.transitSeconds.value + rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value);
}

/** How much later than at the valve air shows in a reading: common line and instrument; µs. */
export function commonDelayMicroseconds(rig: Rig): number {
  return toMicroseconds(rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value);
}

/** Probe time of a reading. Negative where the air left the probe before the clock began. */
export function probeTime(arrivalMicroseconds: number, rig: Rig, port: Port): number {
  return arrivalMicroseconds - fullDelayMicroseconds(rig, port);
}
