import { mkdirSync, realpathSync, rmSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';
import { identityOf } from '../../src/device/port-identity.ts';
import { startRigProcess } from '../../src/host/rig/start-rig-process.ts';
import type { RigProcess } from '../../src/host/rig/start-rig-process.ts';
import { listSerialPorts } from '../../src/host/transport/list-ports.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';

const folder = temporaryFolder();
const byIdFolder = join(folder.path, 'by-id');
let driver: Driver;
beforeAll(async () => {
  mkdirSync(byIdFolder);
  const noSystemList = async (): Promise<never> => {
    throw new Error('no udev');
  };
  const parts = { byIdFolder, deviceFolder: folder.path, systemPorts: noSystemList };
  driver = await driveRuntime({ folder: folder.path, listPorts: () => listSerialPorts(parts) });
});
afterAll(async () => {
  await driver.end();
  folder.clear();
});

/** What udev does when adapters are plugged in: a name for each, which leads to the port of today. */
function plugIn(instruments: RigProcess): Map<string, string> {
  const paths = new Map<string, string>();
  for (const [instrument, connection] of instruments.connections) {
    if (connection.transport !== 'serial') throw new Error('not on a pseudo-terminal');
    rmSync(join(byIdFolder, `usb-${instrument}`), { force: true });
    symlinkSync(connection.path, join(byIdFolder, `usb-${instrument}`));
    paths.set(instrument, realpathSync(connection.path));
  }
  return paths;
}
const startInstruments = (): Promise<RigProcess> =>
  startRigProcess({ wire: 'pty', scenario: 'short', seed: 1, truthFile: null });

describe('a rig whose ports have other names today', () => {
  it('is asked for, remembered by what it is, and opened by that; what is gone is said', async () => {
    const { procedures, window } = driver;
    const yesterday = await startInstruments();
    const before = plugIn(yesterday);
    const rig = { ...(await procedures.rig.template({}, window)), name: 'Bench' };
    await procedures.rig.save({ rig }, window);
    await procedures.rig.open({ name: 'Bench' }, window);

    const { note, ports } = await procedures.rig.offeredPorts({}, window);
    expect(ports.map(({ usedBy }) => usedBy)).toEqual(ports.map(() => null));
    expect(note).toContain('no udev');
    const photometer = before.get('photometer') ?? '';
    const belt = before.get('heart-rate') ?? before.get('belt') ?? '';
    const ask = { kind: 'photometer', dialect: 'text-lines', settings: {}, baudRate: 115_200 };
    const asked = await procedures.rig.askPorts({ ...ask, ports: [photometer, belt] }, window);
    expect(asked.map(({ answer, path }) => [path, answer])).toEqual([
      [photometer, 'recognised'],
      [belt, 'other'],
    ]);

    for (const { instrument } of rig.instruments) {
      const port = ports.find(({ byId }) => byId === `usb-${instrument}`);
      if (port === undefined) throw new Error(`no port for ${instrument}`);
      const identity = identityOf(port, null);
      if (identity === null) throw new Error('nothing to remember');
      const settings: ConnectionSettings = { kind: 'serial', path: port.path, baudRate: 115_200, identity };
      await procedures.rig.connect({ instrument, settings }, window);
    }
    const live = (): Promise<unknown> =>
      driver.until('live', (now) => now.rig.instruments.every(({ state }) => state === 'live'));
    await live();
    const [used] = await procedures.rig.askPorts({ ...ask, ports: [photometer] }, window);
    expect(used).toMatchObject({ answer: 'used', detail: 'left alone, used by photometer of the open rig' });
    await procedures.rig.close({}, window);

    // Both at once, so that no name is given twice.
    const today = await startInstruments();
    await yesterday.stop();
    const after = plugIn(today);
    expect(after.get('photometer')).not.toBe(photometer);
    await procedures.rig.open({ name: 'Bench' }, window);
    await live();
    for (const { connection, instrument, settings } of driver.runtime.snapshot().rig.instruments) {
      expect(connection).toContain(`serial ${after.get(instrument) ?? 'nowhere'} `);
      expect(settings).toMatchObject({ path: before.get(instrument) });
    }
    await procedures.rig.close({}, window);

    rmSync(join(byIdFolder, 'usb-photometer'));
    await procedures.rig.open({ name: 'Bench' }, window);
    await driver.until('what is gone', ({ rig: now }) => now.instruments[0]?.state === 'unreached');
    expect(driver.runtime.snapshot().rig.instruments[0]?.detail).toContain(
      'usb-photometer is connected to no port of this machine (photometer). There ',
    );
    await procedures.rig.close({}, window);
    await today.stop();
  });

  it('is connected at a speed at which it cannot be heard, and that is remarked on', async () => {
    const { procedures, window } = driver;
    await procedures.rig.open({ name: 'Bench' }, window);
    const slow: ConnectionSettings = { kind: 'serial', path: '/dev/pts/none', baudRate: 1200 };
    await procedures.rig.connect({ instrument: 'photometer', settings: slow }, window);
    const remarks = (): string => driver.runtime.snapshot().rig.instruments[0]?.remarks.join() ?? '';
    await driver.until('the remark', () => remarks().includes('bits × 20 a second = '));
    await procedures.rig.close({}, window);
  });
});
