import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { sharp } from '../../../drivers/virtual-rig/scenarios/sharp.ts';
import { lineGeometry } from '../../../src/calibration/line-geometry.ts';
import { transitRemark, transitRemarks } from '../../../src/calibration/line-words.ts';
import { rigSchema } from '../../../src/model/rig.ts';
import type { Port } from '../../../src/model/rig.ts';

const [hood] = demo.rig.ports;
if (hood === undefined) throw new Error('the demo rig has no port');
/** The tube of the published values: 2 m of 4 mm at 1 L/min. */
const flow = { lineLitresPerMinute: 1 };
const tube = (transit: number, change: Partial<Port> = {}): Port => ({
  ...hood,
  transitSeconds: { value: transit, standardUncertainty: 0.05 },
  dilution: { value: 1, standardUncertainty: 0 },
  lineMetres: 2,
  boreMillimetres: 4,
  ...change,
});
const standing = (port: Port, rig = flow): string | undefined => lineGeometry(rig, port)?.standing;

describe('a line as a tube', () => {
  it('has the volume, plug transit and Reynolds number of the tube', () => {
    // 25.13 mL, 1.508 s and 353: computed by hand from V = π d² L/4, V/Q and ρUd/µ, beside tests/published/dilution.
    const line = lineGeometry(flow, tube(1.5));
    expect(line?.millilitres).toBeCloseTo(25.133, 3);
    expect(line?.plugSeconds).toBeCloseTo(1.50796, 5);
    expect(line?.reynolds).toBeCloseTo(353, 0);
    expect(line?.flow).toBe('laminar');
    // Laminar flow: the middle moves at twice the mean speed, so its front comes after half of V/Q.
    expect(line?.frontSeconds).toBeCloseTo(0.75398, 5);
  });

  it('is laminar below a Reynolds number of 2000, turbulent above 4000, and unsure between', () => {
    const at = (litresPerMinute: number): string | undefined =>
      lineGeometry({ lineLitresPerMinute: litresPerMinute }, tube(1))?.flow;
    expect([5.6, 5.7, 11.3, 11.4].map(at)).toEqual(['laminar', 'unsure', 'unsure', 'turbulent']);
  });

  it('finds a transit that no air can have too short, with twice its standard uncertainty allowed for', () => {
    expect([0.65, 0.66].map((transit) => standing(tube(transit)))).toEqual(['too-short', 'agrees']);
  });

  it('takes the fastest front of either end of the dilution, where one is turbulent and the other is not', () => {
    // Re 4060 at 11.5 L/min, and 3380 of what a dilution of 1.2 leaves: 1.2 · 0.5 of V/Q is before 0.8 of it.
    const line = lineGeometry(
      { lineLitresPerMinute: 11.5 },
      tube(1, { dilution: { value: 1.2, standardUncertainty: 0 } }),
    );
    expect(line?.flow).toBe('turbulent');
    expect((line?.frontSeconds ?? 0) / (line?.plugSeconds ?? 1)).toBeCloseTo(0.6, 6);
  });

  it('allows a long transit for fittings of 5 mL, and for make-up that joins at the valve', () => {
    // 3 · (25.13 + 5) mL at 1 L/min = 5.424 s, and 0.1 s of doubt.
    expect([5.52, 5.53].map((transit) => standing(tube(transit)))).toEqual(['agrees', 'too-long']);
    const diluted = { dilution: { value: 10, standardUncertainty: 0 } };
    expect(standing(tube(50, diluted))).toBe('agrees');
    expect(standing(tube(55, diluted))).toBe('too-long');
  });

  it('says nothing where length, bore or flow is not stated, and nothing of a spare port', () => {
    expect(lineGeometry({}, tube(1))).toBeNull();
    expect(lineGeometry(flow, tube(1, { lineMetres: undefined }))).toBeNull();
    expect(lineGeometry(flow, tube(1, { boreMillimetres: undefined }))).toBeNull();
    expect(lineGeometry(flow, tube(1, { role: 'spare' }))).toBeNull();
  });

  it('says in words which transit cannot be, and of what', () => {
    expect(transitRemark(flow, tube(1.5))).toBeNull();
    expect(transitRemark(flow, tube(0.3))).toBe(
      'Hood, port 1: the stated transit of 0.30 s is shorter than any air can take: 25 mL in the line pass in 1.5 s ' +
        'on average, the fastest in 0.75 s. Check length, bore, flow and transit.',
    );
    expect(transitRemark(flow, tube(9))).toBe(
      'Hood, port 1: the stated transit of 9.0 s is too long for this line: 25 mL in the line pass in 1.5 s on ' +
        'average; three times what it takes with its fittings are 5.4 s. Check length, bore, flow and transit.',
    );
    const diluted = { dilution: { value: 2, standardUncertainty: 0 } };
    expect(transitRemark(flow, tube(19, diluted))).toContain('with its fittings and the dilution are 11 s');
  });
});

describe('lines of the virtual rig', () => {
  it('hold what flows in their transits, to the half centimetre', () => {
    for (const port of demo.rig.ports) {
      const line = lineGeometry(demo.rig, port);
      if (port.role === 'spare') expect(line).toBeNull();
      else expect(Math.abs((line?.plugSeconds ?? 0) - port.transitSeconds.value)).toBeLessThan(0.003);
    }
    expect(transitRemarks(demo.rig)).toEqual([]);
    expect(transitRemarks(sharp.rig)).toEqual([]);
  });

  it('are read from a rig that says nothing of its lines as from before there were any', () => {
    const told = new Set(['lineLitresPerMinute', 'lineMetres', 'boreMillimetres']);
    const text = JSON.stringify(demo.rig, (name, value: unknown) => (told.has(name) ? undefined : value));
    expect(text).not.toContain('boreMillimetres');
    const old = rigSchema.parse(JSON.parse(text));
    expect(old).toEqual(JSON.parse(text));
    expect(transitRemarks(old)).toEqual([]);
  });
});
