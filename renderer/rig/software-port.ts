import type { ConnectionSettings } from '../../src/bridge/snapshot.ts';

const loopback = /^(?:localhost|127(?:\.\d{1,3}){3}|::1|\[::1\])$/i;

/**
 * Whether what stands behind a connection is a program on this machine: a pseudo-terminal, or a TCP port of its own.
 * It may be a simulator or a bridge to a real instrument, so this is a reason to ask and none to decide.
 */
export function isSoftwarePort(settings: ConnectionSettings): boolean {
  return settings.kind === 'serial' ? /^\/dev\/(?:pts\/|ttys\d)/.test(settings.path) : loopback.test(settings.host);
}
