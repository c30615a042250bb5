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

/** A line on the scale that all of them share. */
export interface LineBar {
  /** Of the longest, 0 to 1. */
  readonly share: number;
  /** Thickness, px. */
  readonly thickness: number;
}

const usualThickness = 5;
const thickestLine = 9;
const thinnestLine = 2;

/**
 * The lines drawn to one scale: their lengths where any is stated, and their bores as thickness; otherwise the
 * transits. Null for a port whose length is not stated while others are.
 */
export function lineBars(rows: readonly PathRow[]): (LineBar | null)[] {
  const ports = rows.map(({ port }) => (port.role === 'spare' ? null : port));
  const known = linesAreStated(rows);
  const extents = ports.map((port) => (known ? port?.lineMetres : port?.transitSeconds.value) ?? null);
  const longest = Math.max(...extents.map((extent) => extent ?? 0), 0);
  return ports.map((port, index) => {
    const extent = extents[index] ?? null;
    if (port === null || extent === null) return null;
    const bore = known ? port.boreMillimetres : undefined;
    return { share: longest > 0 ? extent / longest : 0, thickness: thicknessOf(bore, ports) };
  });
}

/** Whether the rig says how long any of its lines is. */
export function linesAreStated(rows: readonly PathRow[]): boolean {
  return rows.some(({ port }) => port.role !== 'spare' && port.lineMetres !== undefined);
}

function thicknessOf(bore: number | undefined, ports: readonly (Port | null)[]): number {
  if (bore === undefined) return usualThickness;
  const bores = ports.flatMap((port) => port?.boreMillimetres ?? []);
  const narrowest = Math.min(...bores);
  const widest = Math.max(...bores);
  // Equal bores look as they always did; of unequal ones the widest is the thickest.
  if (narrowest === widest) return usualThickness;
  return Math.max(thinnestLine, Math.round((thickestLine * bore) / widest));
}
