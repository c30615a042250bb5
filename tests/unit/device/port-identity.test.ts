import { describe, expect, it } from 'vitest';
import { fittingPorts, identityOf, identityWords, samePort } from '../../../src/device/port-identity.ts';
import type { MachinePort } from '../../../src/device/port-identity.ts';

const port = (path: string, of: Partial<MachinePort> = {}): MachinePort => ({
  ...{ path, byId: null, vendorId: null, productId: null, serialNumber: null, manufacturer: null },
  ...of,
});
const adapter = { vendorId: '0403', productId: '6001', serialNumber: 'A5XK' };
const plain = { vendorId: '1a86', productId: '7523' };
const found = (identity: ReturnType<typeof identityOf>, ports: readonly MachinePort[]): string[] | null =>
  identity === null ? null : (fittingPorts(identity, ports)?.map(({ path }) => path) ?? null);

describe('a port that is looked for', () => {
  it('is found by its serial number under another name', () => {
    const identity = identityOf(port('/dev/ttyUSB0', adapter), null);
    const today = [port('/dev/ttyUSB0', { ...adapter, serialNumber: 'B7QM' }), port('/dev/ttyUSB1', adapter)];
    expect(found(identity, today)).toEqual(['/dev/ttyUSB1']);
    expect(found(identity, today.slice(0, 1))).toEqual([]);
  });

  it('is one of two when adapters of a kind have no serial number, although the system names them alike', () => {
    const byId = 'usb-1a86_USB_Serial-if00-port0';
    const identity = identityOf(port('/dev/ttyUSB0', { ...plain, byId }), null);
    // The name leads to the one that came last.
    const today = [port('/dev/ttyUSB0', plain), port('/dev/ttyUSB1', { ...plain, byId })];
    expect(found(identity, today)).toEqual(['/dev/ttyUSB0', '/dev/ttyUSB1']);
  });

  it('is the right one of an adapter of several ports, which has one serial number', () => {
    const four = [0, 1, 2, 3].map((at) => port(`/dev/ttyUSB${at}`, { ...adapter, byId: `usb-four-if0${at}-port0` }));
    const third = four[2];
    expect(third === undefined ? null : found(identityOf(third, null), four)).toEqual(['/dev/ttyUSB2']);
  });

  it('is found by the name that the system makes of it where nothing else is known', () => {
    const identity = identityOf(port('/dev/ttyUSB0', { ...adapter, byId: 'usb-A5XK-port0' }), null);
    expect(found(identity, [port('/dev/ttyUSB3', { byId: 'usb-A5XK-port0' }), port('/dev/ttyUSB4')])).toEqual([
      '/dev/ttyUSB3',
    ]);
    expect(found(identityOf(port('/dev/ttyUSB0', adapter), null), [port('/dev/ttyUSB4')])).toEqual([]);
  });

  it('has nothing to be found by where the machine says nothing', () => {
    expect(identityOf(port('/dev/ttyS0'), null)).toBeNull();
    const told = identityOf(port('/dev/ttyS0'), 'Bench, multimeter, 17');
    expect(found(told, [port('/dev/ttyS0')])).toBeNull();
    expect(told === null ? '' : identityWords(told)).toBe('an instrument that says “Bench, multimeter, 17”');
  });

  it('is one place with another by identity, not by a name that has changed', () => {
    const one = { path: '/dev/ttyUSB0', identity: identityOf(port('', adapter), null) ?? undefined };
    const moved = { ...one, path: '/dev/ttyUSB1' };
    const other = { path: '/dev/ttyUSB0', identity: identityOf(port('', plain), null) ?? undefined };
    expect(samePort(one, moved)).toBe(true);
    expect(samePort(one, other)).toBe(false);
    expect(samePort(one, { path: '/dev/ttyUSB0' })).toBe(true);
  });

  it('without a serial number is one place with another only under one name, and if not two things were said', () => {
    const at = (path: string, told: string | null = null) => ({
      ...{ path, identity: identityOf(port('', plain), told) ?? undefined },
    });
    expect(samePort(at('/dev/a'), at('/dev/a'))).toBe(true);
    expect(samePort(at('/dev/a'), at('/dev/b'))).toBe(false);
    expect(samePort(at('/dev/a', '16'), at('/dev/a', '17'))).toBe(false);
  });
});
