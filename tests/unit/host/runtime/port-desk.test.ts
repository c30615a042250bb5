import { describe, expect, it } from 'vitest';
import type { ConnectionSettings } from '../../../../src/bridge/snapshot.ts';
import type { MachinePort } from '../../../../src/device/port-identity.ts';
import type { Connection, Transport } from '../../../../src/device/transport.ts';
import { bytesToText, textToBytes } from '../../../../src/model/bytes.ts';
import { createPortDesk } from '../../../../src/host/runtime/port-desk.ts';
import type { PortDesk } from '../../../../src/host/runtime/port-desk.ts';
import type { PortUser } from '../../../../src/host/runtime/port-users.ts';
import { overloadRemark } from '../../../../src/host/runtime/line-load.ts';
import { createManualClock, createTestCable } from '../../../contract/drivers/support.ts';

const port = (path: string, of: Partial<MachinePort> = {}): MachinePort => ({
  ...{ path, byId: null, vendorId: null, productId: null, serialNumber: null, manufacturer: null },
  ...of,
});
const multimeter = { instrument: 'photometer', kind: 'photometer', dialect: 'multimeter-scpi', settings: {} };
const ask = { kind: 'photometer', dialect: 'multimeter-scpi', settings: {}, baudRate: 9600 };

const used = (instrument: string, lastPath: string | null, of: Partial<PortUser> = {}): PortUser => ({
  ...{ instrument, lastPath, connected: true, settings: null, sharesLine: false },
  ...of,
});

const forever = new Promise<never>(() => undefined);

/** A machine whose ports answer `*IDN?` by what stands here; null: they say nothing. */
function machine(
  ports: readonly MachinePort[],
  says: Readonly<Record<string, string | null>>,
  users: readonly PortUser[] = [used('belt', '/dev/used')],
  hangs: { list?: boolean; open?: boolean; close?: boolean } = {},
) {
  const clock = createManualClock();
  const opened: string[] = [];
  const written: string[] = [];
  const closed: string[] = [];
  const open = async (connection: Connection): Promise<Transport> => {
    const path = connection.transport === 'serial' ? connection.path : '';
    opened.push(path);
    if (hangs.open === true) return forever;
    const cable = createTestCable();
    cable.onWrite((bytes) => {
      written.push(`${path} ${bytesToText(bytes)}`);
      const answer = says[path];
      if (answer != null) cable.arrive(textToBytes(`${answer}\n`), clock.now());
    });
    return { ...cable, close: () => (hangs.close === true ? forever : Promise.resolve(void closed.push(path))) };
  };
  const desk: PortDesk = createPortDesk({
    clock,
    open,
    list: () => (hangs.list === true ? forever : Promise.resolve({ ports, note: null })),
    holders: async () => new Map([['/dev/held', { processId: 17, name: 'logger' }]]),
    inUse: () => users,
  });
  /** Lets time pass until it is settled. */
  const wait = async <Result>(asking: Promise<Result>): Promise<Result> => {
    let settled = false;
    const settle = (): void => {
      settled = true;
    };
    asking.then(settle, settle);
    while (!settled) {
      await new Promise(setImmediate);
      clock.advance(100_000);
    }
    return asking;
  };
  return { desk, opened, written, closed, wait };
}

describe('asking at ports', () => {
  it('asks where a person has said so, and never at a port that is in use', async () => {
    const { desk, opened, closed, wait, written } = machine([], {
      '/dev/a': 'Bench,multimeter,17,1.2',
      '/dev/b': 'ok',
      '/dev/c': null,
    });
    const asked = await wait(desk.ask(ask, ['/dev/a', '/dev/b', '/dev/c', '/dev/used', '/dev/held'], false));
    expect(asked.map(({ answer, told }) => [answer, told])).toEqual([
      ['recognised', 'Bench, multimeter, 17'],
      ['other', null],
      ['nothing', null],
      ['used', null],
      ['used', null],
    ]);
    expect(asked[1]?.detail).toBe('3 bytes that do not fit: "ok·"');
    expect(asked[3]?.detail).toBe('left alone, used by belt of the open rig');
    expect(asked[4]?.detail).toBe('left alone, used by process 17, logger');
    expect([...opened].sort()).toEqual(['/dev/a', '/dev/b', '/dev/c']);
    expect([...closed].sort()).toEqual(['/dev/a', '/dev/b', '/dev/c']);
    expect(written).toContain('/dev/a *IDN?\n');
  });

  it('waits for no port that does not open or close', async () => {
    const shut = machine([], {}, [], { open: true });
    expect(await shut.wait(shut.desk.ask(ask, ['/dev/a'], false))).toMatchObject([
      { answer: 'failed', detail: 'it was not open within 3 s' },
    ]);
    const stuck = machine([], { '/dev/a': 'Bench,multimeter,17,1.2' }, [], { close: true });
    expect(await stuck.wait(stuck.desk.ask(ask, ['/dev/a'], false))).toMatchObject([{ answer: 'recognised' }]);
  });

  it('says what it will write, and what cannot be told', async () => {
    const { desk } = machine([], {});
    expect(desk.line(ask).recognised).toEqual({ question: String.raw`*IDN?\n`, limitSeconds: 1 });
    const climate = { kind: 'climate', dialect: 'modbus-registers', settings: {}, baudRate: 9600 };
    // Function 4, three registers from 0, check sum low byte first.
    expect(desk.line(climate).recognised?.question).toBe('01 04 00 00 00 03 B0 0B');
    const relay = { ...ask, kind: 'selector-valve', dialect: 'relay-board', settings: { ports: 3 } };
    expect(desk.line(relay).recognised).toBeNull();
    await expect(desk.ask(relay, ['/dev/a'], false)).rejects.toMatchObject({ code: 'action-refused' });
  });
});

describe('the port of an instrument that is lost', () => {
  const known = { vendorId: '0403', productId: '6001', serialNumber: 'S1' };
  const at = (path: string): ConnectionSettings => ({
    ...{ kind: 'serial', path, baudRate: 9600, identity: { byId: null, ...known, told: null } },
  });
  const lost = { connected: false };

  it('is its own, under the old name and under the one by which it is back', async () => {
    const users = [used('belt', '/dev/a', { ...lost, settings: at('/dev/a') }), used('bike', '/dev/c', lost)];
    const { desk, opened, wait } = machine([port('/dev/b', known), port('/dev/d')], {}, users);
    const asked = await wait(desk.ask(ask, ['/dev/a', '/dev/b', '/dev/c', '/dev/d'], false));
    expect(asked.map(({ answer }) => answer)).toEqual(['used', 'used', 'used', 'nothing']);
    expect(asked[1]?.detail).toBe('left alone, used by belt of the open rig');
    expect(opened).toEqual(['/dev/d']);
    const { ports } = await desk.offered(false);
    expect(ports.map(({ usedBy }) => usedBy)).toEqual(['belt of the open rig', null]);
  });

  it('stops the asking in a trial, before a byte is written anywhere; a port of no instrument is asked', async () => {
    const { desk, opened, wait } = machine([port('/dev/b', known)], {}, [
      used('belt', '/dev/a', { ...lost, settings: at('/dev/a') }),
    ]);
    const refused = desk.ask(ask, ['/dev/b', '/dev/d'], true);
    await expect(wait(refused)).rejects.toThrow('a trial is under way, and /dev/b is or was the port of belt');
    expect(opened).toEqual([]);
    expect((await wait(desk.ask(ask, ['/dev/d'], true))).map(({ answer }) => answer)).toEqual(['nothing']);
  });

  it('where two fit it is kept free of questions in a trial, and found by them else', async () => {
    const users = [used('belt', null, { ...lost, settings: at('/dev/a') })];
    const { desk, wait } = machine([port('/dev/x', known), port('/dev/y', known)], {}, users);
    await expect(wait(desk.ask(ask, ['/dev/y'], true))).rejects.toMatchObject({ code: 'action-refused' });
    expect(await wait(desk.ask(ask, ['/dev/y'], false))).toMatchObject([{ answer: 'nothing' }]);
  });
});

describe('the port of today', () => {
  const twins = { vendorId: '1a86', productId: '7523' };
  const serial = (path: string, of: Partial<MachinePort>, told: string | null = null): ConnectionSettings => {
    const { byId, productId, serialNumber, vendorId } = port(path, of);
    return { kind: 'serial', path, baudRate: 9600, identity: { byId, vendorId, productId, serialNumber, told } };
  };

  it('is the typed one where nothing is remembered, whatever the machine lists', async () => {
    const { desk } = machine([], {});
    const typed: ConnectionSettings = { kind: 'serial', path: '/dev/pts/7', baudRate: 9600 };
    expect(await desk.today(multimeter, typed)).toEqual(typed);
  });

  it('is found by its adapter without a question, and refused with what is there when it is not', async () => {
    const known = { ...twins, serialNumber: 'S1' };
    const { desk, opened } = machine([port('/dev/ttyUSB4', known), port('/dev/ttyUSB5')], {});
    expect(await desk.today(multimeter, serial('/dev/ttyUSB0', known))).toMatchObject({ path: '/dev/ttyUSB4' });
    expect(opened).toEqual([]);
    await expect(desk.today(multimeter, serial('/dev/ttyUSB0', { ...known, serialNumber: 'S2' }))).rejects.toThrow(
      'adapter 1a86:7523 with serial number S2 is connected to no port of this machine (photometer). ' +
        'There are /dev/ttyUSB4 (adapter 1a86:7523 with serial number S1), /dev/ttyUSB5.',
    );
  });

  it('of two alike is the one that tells who it is; without that it is refused', async () => {
    const { desk, wait } = machine([port('/dev/x', twins), port('/dev/y', twins)], {
      '/dev/x': 'Bench,multimeter,16,1',
      '/dev/y': 'Bench,multimeter,17,2',
    });
    const told = serial('/dev/x', twins, 'Bench, multimeter, 17');
    expect(await wait(desk.today(multimeter, told))).toMatchObject({ path: '/dev/y', baudRate: 9600 });
    await expect(desk.today(multimeter, serial('/dev/x', twins))).rejects.toMatchObject({ code: 'port-ambiguous' });
    const other = desk.today(multimeter, serial('/dev/x', twins, 'Bench, multimeter, 18'));
    await expect(wait(other)).rejects.toMatchObject({ code: 'port-not-found' });
  });

  it('without a serial number is asked who is there, although only one port fits', async () => {
    const told = serial('/dev/x', twins, 'Bench, multimeter, 17');
    const one = machine([port('/dev/y', twins)], { '/dev/y': 'Bench,multimeter,16,1' });
    await expect(one.wait(one.desk.today(multimeter, told))).rejects.toMatchObject({ code: 'port-not-found' });
    const right = machine([port('/dev/y', twins)], { '/dev/y': 'Bench,multimeter,17,1' });
    expect(await right.wait(right.desk.today(multimeter, told))).toMatchObject({ path: '/dev/y' });
    // What is another's by name is sent no question, whether or not that one is connected.
    const typed = { kind: 'serial', path: '/dev/y', baudRate: 9600 } as const;
    const valve = used('valve', null, { connected: false, settings: typed });
    const hers = machine([port('/dev/y', twins)], {}, [valve]);
    await expect(hers.wait(hers.desk.today(multimeter, told))).rejects.toThrow('used by valve of the open rig');
    expect(hers.opened).toEqual([]);
  });

  it.each([
    ['is remembered by the same', { settings: serial('/dev/y', twins) }, 'nothing tells it from that of valve'],
    [
      'has this name',
      { settings: { kind: 'serial', path: '/dev/y', baudRate: 9600 } as const },
      'by its name it is the port of valve',
    ],
    [
      'is connected there',
      { connected: true, lastPath: '/dev/y', settings: { kind: 'serial', path: '/dev/v', baudRate: 9600 } as const },
      'valve is connected there',
    ],
  ])('that cannot be asked is refused where another of the rig %s', async (_, of, says) => {
    const valve = used('valve', null, { connected: false, ...of });
    const { desk, opened } = machine([port('/dev/y', twins)], {}, [valve]);
    const mute = serial('/dev/x', twins);
    await expect(desk.today(multimeter, mute)).rejects.toThrow(`only /dev/y fits adapter 1a86:7523, and ${says}`);
    await expect(desk.today(multimeter, mute)).rejects.toMatchObject({ code: 'port-ambiguous' });
    expect(opened).toEqual([]);
    // One adapter, one serial number: where the instrument is, whoever was there before.
    const known = { ...twins, serialNumber: 'S1' };
    const certain = machine([port('/dev/y', known)], {}, [valve]);
    expect(await certain.desk.today(multimeter, serial('/dev/x', known))).toMatchObject({ path: '/dev/y' });
  });

  it('of a shared line is that of whoever is remembered there, not of a twin whose adapter is gone', async () => {
    const climate = { instrument: 'climate-2', kind: 'climate', dialect: 'modbus-registers', settings: {} };
    const other = (path: string, of: Partial<MachinePort>): PortUser =>
      used('climate-1', '/dev/y', { settings: serial(path, of), sharesLine: true });
    const beside = machine([port('/dev/y', twins)], {}, [other('/dev/x', twins)]);
    expect(await beside.desk.today(climate, serial('/dev/x', twins))).toMatchObject({ path: '/dev/y' });
    const twin = machine([port('/dev/y', twins)], {}, [other('/dev/w', twins)]);
    await expect(twin.desk.today(climate, serial('/dev/x', twins))).rejects.toMatchObject({ code: 'port-ambiguous' });
    const same = { ...twins, serialNumber: '0001' };
    const alike = machine([port('/dev/y', same)], {}, [{ ...other('/dev/w', same), sharesLine: false }]);
    await expect(alike.desk.today(climate, serial('/dev/x', same))).rejects.toMatchObject({ code: 'port-ambiguous' });
  });

  it('is refused, and not waited for, where the machine never lists its ports', async () => {
    const { desk, wait } = machine([], {}, [], { list: true });
    const known = { ...twins, serialNumber: 'S1' };
    const opening = desk.today(multimeter, serial('/dev/x', known));
    await expect(wait(opening)).rejects.toThrow('has not listed its serial ports within 4 s');
    await expect(desk.offered(false)).rejects.toMatchObject({ code: 'port-failed' });
  });

  it('that only the instrument can tell is the remembered one, and asked whether it is still there', async () => {
    const { desk, opened, wait } = machine([port('/dev/x'), port('/dev/y')], { '/dev/x': 'Bench,multimeter,16,1' });
    const here = desk.today(multimeter, serial('/dev/x', {}, 'Bench, multimeter, 16'));
    expect(await wait(here)).toMatchObject({ path: '/dev/x' });
    const gone = desk.today(multimeter, serial('/dev/x', {}, 'Bench, multimeter, 17'));
    await expect(wait(gone)).rejects.toThrow('did not answer at /dev/x');
    expect(opened).not.toContain('/dev/y');
  });
});

describe('a line that is too slow', () => {
  it('is remarked on with its arithmetic, alone and for all that share it', () => {
    const flow = { instrument: 'breath', kind: 'breathing', dialect: 'flow-lines', settings: {} };
    const at = (baudRate: number): ConnectionSettings => ({ kind: 'serial', path: '/dev/a', baudRate });
    // `q 0.0 *5F` and its line feed: ten characters, a hundred times a second.
    expect(overloadRemark(at(9600), [flow])).toContain(
      '9600 baud is too slow for what the settings of breath say: a line of 10 characters × 10 bits × 100 a second = ' +
        '10000 bit/s, and the port carries 9600. ',
    );
    expect(overloadRemark(at(19_200), [flow])).toBeNull();
    const fast = { kind: 'climate', dialect: 'modbus-registers' };
    const two = [1, 2].map((address) => ({
      ...{ ...fast, instrument: `climate-${address}` },
      settings: { address, intervalSeconds: 0.05 },
    }));
    // A question of 8, an answer of 11, silences of 7: 26 characters a round, 5200 bit/s each.
    expect(overloadRemark(at(9600), two.slice(0, 1))).toBeNull();
    expect(overloadRemark(at(9600), two)).toContain('together 10400 bit/s, and the port carries 9600');
    expect(overloadRemark({ kind: 'tcp', host: 'h', port: 1 }, two)).toBeNull();
  });
});
