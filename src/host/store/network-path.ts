/** One line of the table of mounted file systems. */
export interface Mount {
  readonly mountPoint: string;
  readonly type: string;
}

/**
 * File systems whose locks and memory maps reach over a network or a virtual machine's border, where a
 * write-ahead log is not safe.
 */
const networkTypes = new Set([
  '9p',
  'afs',
  'beegfs',
  'ceph',
  'cifs',
  'coda',
  'davfs',
  'glusterfs',
  'gpfs',
  'lustre',
  'ncpfs',
  'nfs',
  'nfs4',
  'ocfs2',
  'orangefs',
  'prl_fs',
  'smb2',
  'smb3',
  'smbfs',
  'vboxsf',
  'virtiofs',
  'vmhgfs',
  'fuse.ceph',
  'fuse.davfs',
  'fuse.glusterfs',
  'fuse.grpcfuse',
  'fuse.rclone',
  'fuse.s3fs',
  'fuse.sshfs',
  'fuse.vmhgfs-fuse',
]);

/** The lines of /proc/mounts: device, mount point, type, … with blanks in names written as \040. */
export function parseMounts(text: string): Mount[] {
  const mounts: Mount[] = [];
  for (const line of text.split('\n')) {
    const [, mountPoint, type] = line.split(' ');
    if (mountPoint === undefined || type === undefined) continue;
    const plain = mountPoint.replace(/\\([0-7]{3})/g, (_, octal: string) => String.fromCharCode(parseInt(octal, 8)));
    mounts.push({ mountPoint: plain, type });
  }
  return mounts;
}

/**
 * Why an absolute path counts as lying on a network, or null when it does not.
 * POSIX: the type of the file system with the longest mount point above the path (the later one of equals, as it
 * hides the earlier). Windows: a path that names a server. Letters that stand for a network drive are not seen.
 */
export function networkReason(path: string, platform: string, mounts: readonly Mount[]): string | null {
  if (platform === 'win32') {
    const plain = path.replaceAll('/', '\\');
    if (/^\\\\[?.]\\UNC\\/i.test(plain)) return 'a path on a server';
    return /^\\\\[^?.\\]/.test(plain) ? 'a path on a server' : null;
  }
  let holder: Mount | undefined;
  for (const mount of mounts) {
    const below = mount.mountPoint === '/' || path === mount.mountPoint || path.startsWith(`${mount.mountPoint}/`);
    if (below && (holder === undefined || mount.mountPoint.length >= holder.mountPoint.length)) holder = mount;
  }
  return holder !== undefined && networkTypes.has(holder.type) ? `file system ${holder.type}` : null;
}
