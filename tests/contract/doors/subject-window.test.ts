import { safe } from '@orpc/client';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { contract } from '../../../src/bridge/contract.ts';
import { openBrowserPeer, type DoorPeer, type TestWindow } from '../../support/doors/door-peers.ts';
import { createTestHost, type TestHost } from '../../support/doors/test-host.ts';

/** Everything that a window can ask for, as `trial.command`. */
const procedures = Object.entries(contract).flatMap(([group, inside]) =>
  '~orpc' in inside ? [group] : Object.keys(inside).map((name) => `${group}.${name}`),
);
const open = ['watch', 'clock', 'trial.command'];

type Call = (input: unknown) => Promise<unknown>;

function callOf(window: TestWindow, procedure: string): Call {
  let found: unknown = window.client;
  for (const part of procedure.split('.')) found = (found as Record<string, unknown>)[part];
  return found as Call;
}

describe("a window that is the subject's display", () => {
  let host: TestHost;
  let door: DoorPeer;

  beforeEach(async () => {
    host = createTestHost();
    door = await openBrowserPeer(host.host);
  });
  afterEach(() => door.close());

  it('knows the procedures of the contract', () => {
    expect(procedures.length).toBeGreaterThan(20);
    expect(procedures).toEqual(expect.arrayContaining([...open, 'rig.close', 'trial.prepare', 'alarm.acknowledge']));
  });

  it.each(procedures.filter((procedure) => !open.includes(procedure)))('is refused %s', async (procedure) => {
    const window = await door.enter('subject');
    const { error } = await safe(callOf(window, procedure)({}));
    const { data } = error as { readonly data?: unknown };
    expect(data).toMatchObject({ code: 'action-refused', where: procedure });
    expect(door.defects).toEqual([]);
  });

  it('looks, asks for the time, and is known to the host for what it is', async () => {
    const window = await door.enter('subject');
    for await (const snapshot of await window.client.watch({})) {
      expect(snapshot.version).toBeGreaterThan(0);
      break;
    }
    expect((await window.client.clock({})).machineMilliseconds).toBeGreaterThan(0);
    expect(host.displays).toEqual(['subject']);
    await door.enter('operator');
    await door.enter();
    expect(host.displays).toEqual(['subject', 'operator', 'operator']);
  });
});
