import { describe, expect, it } from 'vitest';
import { scenarios } from '../../../../drivers/virtual-rig/scenarios/index.ts';
import { guardDuties } from '../../../../src/host/guard/duties.ts';
import type { Rig } from '../../../../src/model/rig.ts';

const { cycle, short } = scenarios;
const acts = (rig: Rig): unknown[] => guardDuties(rig).map(({ act, instrument }) => [instrument, act]);

describe('what a guard has to do', () => {
  it('is nothing on a rig without a load', () => {
    expect(acts(short.rig)).toEqual([]);
  });

  it('is the load wherever there is one, and the valve where it is wanted', () => {
    const { guard, ...silent } = cycle.rig;
    expect(guard).toEqual({ load: true, valve: true });
    expect(acts(silent)).toEqual([['ergometer', { act: 'rest' }]]);
    expect(acts({ ...cycle.rig, guard: { load: false, valve: false } })).toEqual([]);
    expect(acts(cycle.rig)).toEqual([
      ['selector', { act: 'select', port: 7 }],
      ['ergometer', { act: 'rest' }],
    ]);
    expect(acts({ ...short.rig, guard: { load: true, valve: true } })).toEqual([
      ['selector', { act: 'select', port: 7 }],
    ]);
  });
});
