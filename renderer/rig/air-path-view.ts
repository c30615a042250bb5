import type { RigState } from '../../src/bridge/snapshot.ts';
import type { Port } from '../../src/model/rig.ts';

/** How a port stands with the valve. */
export type PortAir =
  /** The air that reaches the photometer comes from here: the valve said so. */
  | 'flows'
  /** The valve was asked for it and has not answered. */
  | 'asked'
  /** The valve was asked for it and did not confirm it. */
  | 'unconfirmed'
  | 'rests';

export interface PathRow {
  readonly port: Port;
  readonly air: PortAir;
}

/** Ports in the order of the rig, which is body order, then chamber and filtered air, with the air in each. */
export function pathRows(ports: readonly Port[], valve: RigState['valve'], valveLive: boolean): PathRow[] {
  const order: Record<Port['role'], number> = { probe: 0, reference: 1, 'filtered-air': 2, spare: 3 };
  return [...ports]
    .sort((one, other) => order[one.role] - order[other.role])
    .map((port) => ({ port, air: airOf(port.port, valve, valveLive) }));
}

function airOf(port: number, valve: RigState['valve'], valveLive: boolean): PortAir {
  // What a valve said before it went is not what it does now.
  if (!valveLive) return 'rests';
  if (valve.state === 'confirmed') return valve.confirmedPort === port ? 'flows' : 'rests';
  if (valve.state === 'moving' && valve.requestedPort === port) return 'asked';
  if (valve.state === 'unconfirmed' && valve.requestedPort === port) return 'unconfirmed';
  return 'rests';
}

export const headHeight = 34;
/** Below the rows, for what stands under the valve, px. */
export const footHeight = 26;
const leastRow = 36;
const mostRow = 80;

/** Height of a row, px, so that all fill the place that there is. */
export function rowHeight(height: number, rows: number): number {
  if (rows === 0) return mostRow;
  return Math.min(Math.max(Math.floor((height - headHeight - footHeight) / rows), leastRow), mostRow);
}

/** Middle of a row from the top of the picture, px. */
export function rowMiddle(index: number, height: number): number {
  return headHeight + (index + 0.5) * height;
}

/** Length of a transit on the common scale, 0 to 1. */
export function transitShare(port: Port, rows: readonly PathRow[]): number {
  const longest = Math.max(...rows.map((row) => row.port.transitSeconds.value), 0);
  return longest > 0 ? port.transitSeconds.value / longest : 0;
}
