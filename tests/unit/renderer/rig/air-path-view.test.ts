import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { lineBars, pathRows, rowHeight, rowMiddle } from '../../../../renderer/rig/air-path-view.ts';
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

  it('draws lines to one scale, as thick as they are wide', () => {
    const [hood, , back, ...others] = ports;
    if (hood === undefined || back === undefined) throw new Error('the demo rig has other ports');
    const bars = lineBars(
      pathRows([{ ...hood, boreMillimetres: 8 }, { ...back, lineMetres: 6.68 }, ...others], confirmed, true),
    );
    // Hood 2.23 m, lower back now twice the 3.34 m of the ankle; the spare port has no line.
    expect(bars.map((bar) => bar?.share.toFixed(2))).toEqual([
      ...['0.33', '1.00', '0.39', '0.50', '0.22', '0.11'],
      undefined,
    ]);
    expect(bars.slice(0, 2).map((bar) => bar?.thickness)).toEqual([9, 5]);
  });

  it('draws transits to one scale where no length is stated, and nothing for the one line that is not', () => {
    const rows = pathRows(ports, confirmed, true);
    const unstated = pathRows(
      ports.map((port) => ({ ...port, lineMetres: undefined })),
      confirmed,
      true,
    );
    expect(lineBars(unstated).slice(0, 7)).toEqual(
      rows.slice(0, 7).map(({ port }) => ({ share: port.transitSeconds.value / 1.8, thickness: 5 })),
    );
    const one = ports.map((port) => (port.port === 1 ? { ...port, lineMetres: undefined } : port));
    expect(lineBars(pathRows(one, confirmed, true)).map((bar) => bar === null)).toEqual(
      [true, false, false, false, false, false, false, true],
    );
  });
});
