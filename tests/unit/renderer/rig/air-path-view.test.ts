import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { pathRows, rowHeight, rowMiddle, transitShare } from '../../../../renderer/rig/air-path-view.ts';
import type { ValveState } from '../../../../src/bridge/snapshot.ts';

const { ports } = demo.rig;
const confirmed: ValveState = { requestedPort: 3, confirmedPort: 3, state: 'confirmed', answerMilliseconds: 62 };

function airs(valve: ValveState, live = true): Record<number, string> {
  return Object.fromEntries(
    pathRows(ports, valve, live)
      .filter(({ air }) => air !== 'rests')
      .map(({ port, air }) => [port.port, air]),
  );
}

describe('the air path', () => {
  it('shows the confirmed port as the one whose air flows', () => {
    expect(airs(confirmed)).toEqual({ 3: 'flows' });
  });

  it('shows no air as flowing while the valve moves, or did not confirm', () => {
    expect(airs({ ...confirmed, requestedPort: 5, state: 'moving' })).toEqual({ 5: 'asked' });
    expect(airs({ ...confirmed, requestedPort: 5, state: 'unconfirmed' })).toEqual({ 5: 'unconfirmed' });
    expect(airs({ ...confirmed, state: 'unknown' })).toEqual({});
  });

  it('does not believe a valve that is not live', () => {
    expect(airs(confirmed, false)).toEqual({});
  });

  it('keeps probes in the order of the rig and puts chamber, filtered air and spare ports below', () => {
    const mixed = [...ports].reverse();
    expect(pathRows(mixed, confirmed, true).map(({ port }) => port.probe)).toEqual([
      ...['ankle', 'thigh', 'lower-back', 'chest', 'hood'],
      ...['chamber', 'filtered-air', 'spare'],
    ]);
  });

  it('fills the height there is, within what can be read', () => {
    expect(rowHeight(700, 8)).toBe(80);
    expect(rowHeight(450, 8)).toBe(48);
    expect(rowHeight(100, 8)).toBe(36);
    expect(rowMiddle(1, 40) - rowMiddle(0, 40)).toBe(40);
  });

  it('draws transits to one scale', () => {
    const rows = pathRows(ports, confirmed, true);
    expect(rows.map(({ port }) => transitShare(port, rows))).toEqual(
      rows.map(({ port }) => port.transitSeconds.value / 1.8),
    );
  });
});
