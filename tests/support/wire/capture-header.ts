import type { CaptureHeader } from '../../../src/host/wire/capture-file.ts';

/** Head of a capture of a photometer that speaks in lines. */
export function captureHeader(change: Partial<CaptureHeader> = {}): CaptureHeader {
  return {
    format: 'chamberside-wire-capture',
    version: 1,
    program: 'test',
    startedAt: '2030-01-01T00:00:00.000Z',
    rig: 'Own rig',
    virtual: false,
    instrument: { instrument: 'photometer', kind: 'photometer', dialect: 'text-lines', settings: {} },
    connection: 'serial /dev/ttyUSB0 at 115200',
    ...change,
  };
}
