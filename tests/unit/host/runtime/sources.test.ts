import { expect, it } from 'vitest';
import type { ConnectionSettings } from '../../../../src/bridge/snapshot.ts';
import type { Transport } from '../../../../src/device/transport.ts';
import { createVirtualClock } from '../../../../src/host/clock/virtual-clock.ts';
import { laboratorySource } from '../../../../src/host/runtime/sources.ts';
import { createInProcessPair } from '../../../../src/host/transport/in-process.ts';
import type { Rig } from '../../../../src/model/rig.ts';

it('opens a shared line anew when an instrument joins that the guard must know of', async () => {
  const clock = createVirtualClock(0);
  const place: ConnectionSettings = { kind: 'serial', path: 'bus', baudRate: 9600 };
  const places = new Map<string, ConnectionSettings>([['sensor', place]]);
  const one = { kind: 'selector-valve', dialect: 'modbus', settings: {} };
  const instruments = ['sensor', 'other', 'valve'].map((instrument) => ({ instrument, ...one }));
  const rig = { name: 'bench', instruments } as unknown as Rig;
  const asked: string[][] = [];
  const openConnection = (_connection: unknown, names: readonly string[]): Promise<Transport> => {
    asked.push([...names]);
    return Promise.resolve(createInProcessPair('bus', clock).program);
  };
  const settingsOf = (name: string): ConnectionSettings | null => places.get(name) ?? null;
  const source = laboratorySource(rig, settingsOf, clock, openConnection, (name) => name === 'valve');
  const now = (): number => clock.now();

  const first = await source.open('sensor', now);
  let over = false;
  first.onClose(() => (over = true));
  places.set('other', place);
  await source.open('other', now);
  expect([asked, over]).toEqual([[['sensor']], false]);
  places.set('valve', place);
  await source.open('valve', now);
  expect(over).toBe(true);
  await source.open('sensor', now);
  expect(asked).toEqual([['sensor'], ['sensor', 'other', 'valve']]);
});
