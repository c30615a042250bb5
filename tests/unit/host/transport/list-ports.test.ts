import { mkdirSync, openSync, closeSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { listSerialPorts } from '../../../../src/host/transport/list-ports.ts';
import { portHolders } from '../../../../src/host/transport/port-holders.ts';
import { temporaryFolder } from '../../../support/command-line.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());
const byIdFolder = join(folder.path, 'by-id');
const deviceFolder = join(folder.path, 'dev');
mkdirSync(byIdFolder);
mkdirSync(deviceFolder);
for (const name of ['ttyUSB0', 'ttyUSB10', 'ttyUSB2', 'ttyACM0', 'tty1', 'ttyS0', 'null']) {
  writeFileSync(join(deviceFolder, name), '');
}
symlinkSync(join(deviceFolder, 'ttyUSB2'), join(byIdFolder, 'usb-adapter_S2-if00-port0'));
symlinkSync(join(deviceFolder, 'gone'), join(byIdFolder, 'usb-gone'));
const device = (name: string): string => join(deviceFolder, name);

describe('listing ports', () => {
  it('says of each what the system knows, with the name by which it is found again', async () => {
    const { note, ports } = await listSerialPorts({
      ...{ byIdFolder, deviceFolder },
      systemPorts: async () => [
        { path: device('ttyUSB2'), vendorId: '0403', productId: '6001', serialNumber: 'S2', manufacturer: 'Adapters' },
        { path: device('ttyS0'), vendorId: undefined },
      ],
    });
    expect(note).toBeNull();
    expect(ports.find(({ path }) => path === device('ttyUSB2'))).toEqual({
      ...{ path: device('ttyUSB2'), byId: 'usb-adapter_S2-if00-port0', vendorId: '0403', productId: '6001' },
      ...{ serialNumber: 'S2', manufacturer: 'Adapters' },
    });
    expect(ports).toHaveLength(2);
  });

  it('looks through names where the system lists nothing, and says that no more is known', async () => {
    const { note, ports } = await listSerialPorts({
      ...{ byIdFolder, deviceFolder },
      systemPorts: async () => {
        throw new Error('spawn udevadm ENOENT');
      },
    });
    expect(ports.map(({ path }) => path)).toEqual(['ttyACM0', 'ttyUSB0', 'ttyUSB2', 'ttyUSB10'].map(device));
    expect(ports.map(({ byId }) => byId)).toEqual([null, null, 'usb-adapter_S2-if00-port0', null]);
    expect(note).toContain('spawn udevadm ENOENT');
    expect(note).toContain('so only names are known, and nothing more');
    expect(note).toContain('typed by hand always works');
  });
});

describe('a system that never answers', () => {
  it('leaves names after a while, and is not asked again while it hangs', async () => {
    let asked = 0;
    let answer = (): void => undefined;
    const systemPorts = (): Promise<never[]> => {
      asked += 1;
      return new Promise((resolve) => {
        answer = () => {
          resolve([]);
        };
      });
    };
    const parts = { byIdFolder, deviceFolder, systemPorts, limitMilliseconds: 5 };
    const { note, ports } = await listSerialPorts(parts);
    expect(ports).toHaveLength(4);
    expect(note).toContain('(no answer within 0.005 s), so only names are known');
    expect((await listSerialPorts(parts)).note).toContain('still has not answered');
    expect(asked).toBe(1);
    answer();
    await new Promise(setImmediate);
    await listSerialPorts(parts);
    expect(asked).toBe(2);
  });
});

describe('who holds a port', () => {
  it('is seen on Linux without opening it, through a link too', async () => {
    const file = openSync(device('ttyUSB2'), 'r');
    try {
      const link = join(byIdFolder, 'usb-adapter_S2-if00-port0');
      const held = await portHolders([link, device('ttyUSB0'), '/nowhere']);
      const seen = process.platform === 'linux' ? [[link, process.pid]] : [];
      expect([...held].map(([path, { processId }]) => [path, processId])).toEqual(seen);
    } finally {
      closeSync(file);
    }
  });
});
