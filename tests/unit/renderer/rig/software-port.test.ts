import { describe, expect, it } from 'vitest';
import { isSoftwarePort } from '../../../../renderer/rig/software-port.ts';
import { trialReadiness } from '../../../../renderer/rig/readiness.ts';
import type { ConnectionSettings, Snapshot } from '../../../../src/bridge/snapshot.ts';
import { ownRig, workday } from '../../../support/screens/made-up.ts';

const serial = (path: string): ConnectionSettings => ({ kind: 'serial', path, baudRate: 9600 });
const tcp = (host: string): ConnectionSettings => ({ kind: 'tcp', host, port: 4001 });

describe('a port behind which a program of this machine stands', () => {
  it.each([serial('/dev/pts/7'), serial('/dev/ttys003'), tcp('127.0.0.1'), tcp('LOCALHOST'), tcp('::1')])(
    'is told: %o',
    (settings) => expect(isSoftwarePort(settings)).toBe(true),
  );

  it.each([serial('/dev/ttyUSB0'), serial('/dev/ttyS0'), serial('COM3'), tcp('192.168.1.7'), tcp('localhost.lab')])(
    'is not told of an instrument’s own: %o',
    (settings) => expect(isSoftwarePort(settings)).toBe(false),
  );

  const withRig = (virtual: boolean, settings: ConnectionSettings): Snapshot => ({
    ...workday,
    rig: {
      ...workday.rig,
      rig: { ...ownRig, virtual },
      instruments: workday.rig.instruments.map((one, at) => (at === 0 ? { ...one, settings } : one)),
    },
  });
  const burdens = (snapshot: Snapshot): string[] => trialReadiness(snapshot, 0).burdens.map(({ kind }) => kind);

  it('is asked about before a trial starts, until the rig is marked', () => {
    expect(burdens(withRig(false, serial('/dev/pts/7')))).toContain('software-port');
    expect(burdens(withRig(false, serial('/dev/ttyUSB0')))).not.toContain('software-port');
    const marked = burdens(withRig(true, serial('/dev/pts/7')));
    expect(marked).toContain('virtual');
    expect(marked).not.toContain('software-port');
  });
});
