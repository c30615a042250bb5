import { readFileSync } from 'node:fs';

/**
 * The user that owns the other end of a connection over loopback, as far as the system tells: Linux lists every
 * socket with its owner. Null elsewhere, and when the socket is not listed.
 * @param clientPort port of the other end
 * @param serverPort port of this end
 */
export function peerOwner(
  clientPort: number,
  serverPort: number,
  read: (path: string) => string = (path) => readFileSync(path, 'utf8'),
): number | null {
  for (const path of ['/proc/net/tcp', '/proc/net/tcp6']) {
    let table: string;
    try {
      table = read(path);
    } catch {
      continue;
    }
    for (const line of table.split('\n').slice(1)) {
      const [, local, remote, , , , , owner] = line.trim().split(/\s+/);
      if (portOf(local) === clientPort && portOf(remote) === serverPort) return Number(owner);
    }
  }
  return null;
}

/** `0100007F:1F90` → 8080. */
function portOf(address: string | undefined): number {
  return Number.parseInt(address?.split(':')[1] ?? '', 16);
}

/**
 * Whether a connection may be one of the person who started the host: on a machine with several users, the others
 * reach loopback as well. Whoever used `sudo` counts as both.
 */
export function ownedByUs(owner: number | null, us: number | null, behindSudo: string | undefined): boolean {
  return owner === null || us === null || owner === us || (us === 0 && String(owner) === behindSudo);
}
