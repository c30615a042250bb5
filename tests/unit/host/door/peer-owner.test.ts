import { createServer, connect, type AddressInfo } from 'node:net';
import { describe, expect, it } from 'vitest';
import { ownedByUs, peerOwner } from '../../../../src/host/door/peer-owner.ts';

const table = [
  '  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid  timeout inode',
  '   0: 0100007F:1F90 00000000:0000 0A 00000000:00000000 00:00000000 00000000  1000        0 11 1',
  '   1: 0100007F:C350 0100007F:1F90 01 00000000:00000000 00:00000000 00000000  1001        0 12 1',
  '   2: 0100007F:1F90 0100007F:C350 01 00000000:00000000 00:00000000 00000000  1000        0 13 1',
].join('\n');

describe('the owner of the other end', () => {
  it('is read from the system’s list of sockets', () => {
    const read = (path: string): string => (path === '/proc/net/tcp' ? table : '');
    expect(peerOwner(0xc350, 0x1f90, read)).toBe(1001);
    expect(peerOwner(0xc351, 0x1f90, read)).toBeNull();
  });

  it('is not known where there is no such list', () => {
    const read = (): string => {
      throw new Error('no such file');
    };
    expect(peerOwner(0xc350, 0x1f90, read)).toBeNull();
  });

  it('of a connection of this process is this user, where the system tells', async () => {
    const server = createServer();
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const { port } = server.address() as AddressInfo;
    const client = connect({ host: '127.0.0.1', port });
    await new Promise((resolve) => client.once('connect', resolve));
    const expected = process.platform === 'linux' ? process.getuid?.() : null;
    expect(peerOwner((client.address() as AddressInfo).port, port)).toBe(expected);
    client.destroy();
    server.close();
  });

  it.each([
    [null, 1000, undefined, true],
    [1000, null, undefined, true],
    [1000, 1000, undefined, true],
    [1001, 1000, undefined, false],
    [0, 1000, undefined, false],
    [1000, 0, undefined, false],
    [1000, 0, '1000', true],
    [1001, 0, '1000', false],
    [1001, 1000, '1001', false],
  ])('%s may reach a host of %s started behind sudo by %s: %s', (owner, us, sudo, expected) => {
    expect(ownedByUs(owner, us, sudo)).toBe(expected);
  });
});
