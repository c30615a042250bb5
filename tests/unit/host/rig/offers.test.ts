import { expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { templateRig } from '../../../../src/host/rig/offers.ts';
import { rigSchema } from '../../../../src/model/rig.ts';

it('a rig of real instruments begins without lines of which nobody said anything', () => {
  const rig = templateRig();
  expect(rigSchema.parse(rig)).toEqual(rig);
  expect(demo.rig.lineLitresPerMinute).toBeGreaterThan(0);
  expect(JSON.stringify(rig)).not.toMatch(/lineLitresPerMinute|lineMetres|boreMillimetres/);
  expect(rig.ports.map(({ probe }) => probe)).toEqual(demo.rig.ports.map(({ probe }) => probe));
});
