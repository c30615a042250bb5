import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { ConnectionSettings } from '../../../../src/bridge/snapshot.ts';
import { createLineFramer } from '../../../../drivers/registry.ts';
import { scenarios } from '../../../../drivers/virtual-rig/scenarios/index.ts';
import { createMonotonicClock } from '../../../../src/host/clock/monotonic-clock.ts';
import { createGuardDesk } from '../../../../src/host/runtime/guard-desk.ts';
import { createRigDesk } from '../../../../src/host/runtime/rig-desk.ts';
import type { RigDesk } from '../../../../src/host/runtime/rig-desk.ts';
import { readCapture } from '../../../../src/host/wire/capture-file.ts';
import type { CaptureHeader } from '../../../../src/host/wire/capture-file.ts';

const folder = mkdtempSync(join(tmpdir(), 'chamberside-rig-desk-'));
afterAll(() => rmSync(folder, { recursive: true }));
const clock = createMonotonicClock();
const nothing = (): undefined => undefined;

/** A desk with no instrument connected. */
function desk(settingsOf: (rig: string, instrument: string) => ConnectionSettings | null = () => null): RigDesk {
  return createRigDesk({
    ...{ clock, wallNow: () => new Date(), lines: createLineFramer, folder, program: 'test', checkSeconds: 1 },
    guards: createGuardDesk({
      ...{ folder, clock, left: { reports: [], forget: nothing } },
      ...{ onLost: nothing, onWatching: nothing, onRecord: () => false, onChange: nothing },
    }),
    settingsOf,
    ...{ onOpened: nothing, onClosed: nothing, onEnded: nothing, onReading: nothing, onChange: nothing },
    onCheck: () => Promise.resolve(),
  });
}

async function headerOf(rigs: RigDesk, instrument: string): Promise<CaptureHeader> {
  const { path } = await rigs.wires().beginCapture(instrument);
  await rigs.wires().endCapture(instrument);
  return readCapture(readFileSync(path, 'utf8'), path).header;
}

describe('a capture of a rig that was connected by hand', () => {
  it.each([true, false])('is virtual where the rig says so: %s', async (virtual) => {
    const rigs = desk();
    rigs.openLaboratory({ ...scenarios.cycle.rig, virtual });
    expect(await headerOf(rigs, 'photometer')).toMatchObject({ virtual });
    await rigs.close();
  });

  it('says whether the line goes through the guard', async () => {
    const rigs = desk();
    rigs.openLaboratory(scenarios.cycle.rig);
    expect(await headerOf(rigs, 'ergometer')).toMatchObject({ guarded: true });
    expect(rigs.wires().read('ergometer', null).guarded).toBe(true);
    expect(await headerOf(rigs, 'photometer')).not.toHaveProperty('guarded');
    expect(rigs.wires().read('photometer', null).guarded).toBe(false);
    await rigs.close();
  });
});

it('an instrument that is not connected keeps the port at which it was', async () => {
  const settings: ConnectionSettings = { kind: 'serial', path: '/nowhere/port', baudRate: 9600 };
  const rigs = desk((_, instrument) => (instrument === 'photometer' ? settings : null));
  rigs.openLaboratory(scenarios.cycle.rig);
  await expect.poll(() => rigs.portsInUse().find(({ lastPath }) => lastPath !== null)).toMatchObject({
    ...{ instrument: 'photometer', connected: false, lastPath: '/nowhere/port', settings, sharesLine: false },
  });
  await rigs.close();
  expect(rigs.portsInUse()).toEqual([]);
});

it('a line that is too slow for its settings is opened all the same, and remarked on', async () => {
  const settings: ConnectionSettings = { kind: 'serial', path: '/nowhere/port', baudRate: 300 };
  const rigs = desk((_, instrument) => (instrument === 'photometer' ? settings : null));
  rigs.openLaboratory(scenarios.cycle.rig);
  const [photometer] = rigs.state([]).instruments;
  expect(photometer?.remarks.join()).toContain('300 baud is too slow for what the settings of photometer say');
  await expect.poll(() => rigs.state([]).instruments[0]?.detail).toContain('there is no port /nowhere/port');
  await rigs.close();
});
