import { expect, it } from 'vitest';
import { hostProcedures } from '../../../../src/host/runtime/procedures.ts';
import type { ProcedureParts } from '../../../../src/host/runtime/procedures.ts';

it.each([
  [null, false],
  [{ ending: 'open' }, true],
  [{ ending: 'done' }, false],
])('whoever asks at ports is told whether a trial is under way: %j', async (trial, inTrial) => {
  const asked: unknown[] = [];
  const ports = {
    ask: async (_: unknown, paths: readonly string[], during: boolean) => void asked.push([paths, during]),
    offered: async (during: boolean) => void asked.push(during),
  };
  // Nothing else of the host is asked for this.
  const { rig } = hostProcedures({ trials: { trial }, ports } as unknown as ProcedureParts);
  const window = { window: 0 } as unknown as Parameters<typeof rig.askPorts>[1];
  const ask = { kind: 'photometer', dialect: 'text-lines', settings: {}, baudRate: 9600 };
  await rig.askPorts({ ...ask, ports: ['/dev/a'] }, window);
  await rig.offeredPorts({}, window);
  expect(asked).toEqual([[['/dev/a'], inTrial], inTrial]);
});
