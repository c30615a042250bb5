import { describe, expect, it } from 'vitest';
import { networkReason, parseMounts } from '../../../../src/host/store/network-path.ts';

const table = `
/dev/vda1 / ext4 rw,relatime 0 0
server:/export /mnt/share nfs4 rw 0 0
//server/tests /mnt/with\\040blank cifs rw 0 0
/dev/vdb1 /mnt/share/disk ext4 rw 0 0
user@server:/ /home/anna/remote fuse.sshfs rw 0 0
drvfs /mnt/c 9p rw 0 0
tmpfs /run tmpfs rw 0 0
server:/x /run nfs rw 0 0
`;

describe('a network path', () => {
  const mounts = parseMounts(table);

  it.each([
    ['/home/anna/a.chamberside', null],
    ['/mnt/share/a.chamberside', 'file system nfs4'],
    ['/mnt/share', 'file system nfs4'],
    ['/mnt/shared/a.chamberside', null],
    ['/mnt/share/disk/a.chamberside', null],
    ['/mnt/with blank/a.chamberside', 'file system cifs'],
    ['/home/anna/remote/x/a.chamberside', 'file system fuse.sshfs'],
    ['/mnt/c/Users/a.chamberside', 'file system 9p'],
    ['/run/a.chamberside', 'file system nfs'],
  ])('%s on Linux', (path, expected) => {
    expect(networkReason(path, 'linux', mounts)).toBe(expected);
  });

  it('knows nothing without a table', () => {
    expect(networkReason('/mnt/share/a', 'linux', [])).toBeNull();
    expect(parseMounts('')).toEqual([]);
  });

  it.each([
    ['\\\\server\\share\\a.chamberside', true],
    ['//server/share/a.chamberside', true],
    ['\\\\?\\UNC\\server\\share\\a.chamberside', true],
    ['\\\\?\\C:\\data\\a.chamberside', false],
    ['\\\\.\\C:\\data', false],
    ['C:\\data\\a.chamberside', false],
    ['C:/data/a.chamberside', false],
  ])('%s on Windows', (path, expected) => {
    expect(networkReason(path, 'win32', [])).toBe(expected ? 'a path on a server' : null);
  });
});
