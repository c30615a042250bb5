import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { createServer } from 'node:net';
import type { AddressInfo, Server, Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Clock } from '../../../../src/device/timers.ts';
import { createMonotonicClock } from '../../../../src/host/clock/monotonic-clock.ts';
import type { CaptureFile } from '../../../../src/host/wire/capture.ts';
import { readCapture } from '../../../../src/host/wire/capture-file.ts';
import { capturePort } from '../../../../src/host/wire/capture-port.ts';
import type { CapturedPort } from '../../../../src/host/wire/capture-port.ts';

const folder = mkdtempSync(join(tmpdir(), 'chamberside-capture-port-'));
afterAll(() => rmSync(folder, { recursive: true }));
const clock = createMonotonicClock();
let server: Server;
/** The instrument's end. */
let plugged: Promise<Socket>;

beforeEach(async () => {
  server = createServer();
  plugged = new Promise((resolve) => server.once('connection', resolve));
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
});
afterEach(async () => {
  (await plugged).destroy();
  server.close();
});

function capture(
  name: string,
  more: {
    readonly ended?: Promise<string>;
    readonly createFile?: (path: string) => Promise<CaptureFile>;
    readonly clock?: Clock;
  },
): Promise<CapturedPort> {
  const { port } = server.address() as AddressInfo;
  return capturePort({
    configuration: { instrument: 'photometer', kind: 'photometer', dialect: 'text-lines', settings: {} },
    connection: { transport: 'tcp', host: '127.0.0.1', port },
    ...{ virtual: true, path: join(folder, name), program: 'test', clock },
    // A day: nobody ends it in this test.
    ended: new Promise(() => undefined),
    ...more,
  });
}

describe('a port that is captured', () => {
  it('is given back when the disk is full, with the reason, long before its time', async () => {
    const captured = await capture('full', {
      // The device on which every write fails for want of space: the kernel's own answer.
      async createFile() {
        const full = await open('/dev/full', 'a');
        const free = (): Promise<null> => Promise.resolve(null);
        return { append: (text) => full.appendFile(text), free, close: () => full.close() };
      },
    });
    expect(captured).toMatchObject({ capture: { state: 'stopped', bytes: 0 }, lost: null, missed: 0 });
    expect(captured.capture.detail).toMatch(/The disk is full/);
  });

  it('says that the cable was pulled, and its capture says so too', async () => {
    const capturing = capture('pulled', {});
    const instrument = await plugged;
    await new Promise((resolve) => instrument.write('conc 0.02121 mg/m3 ok *50\n', resolve));
    instrument.end();
    const captured = await capturing;
    expect(captured.lost).toEqual(expect.any(String));
    const { end, entries } = readCapture(readFileSync(join(folder, 'pulled'), 'utf8'), 'pulled');
    expect(end).toBe(`the connection was lost: ${captured.lost ?? ''}`);
    expect(entries).toMatchObject([
      { entry: 'bytes', direction: 'in' },
      { entry: 'problem', code: 'connection-lost', detail: captured.lost, byteCount: 0 },
    ]);
    expect(captured.counts.problems).toEqual([{ code: 'connection-lost', count: 1, byteCount: 0 }]);
  });

  it('is not said to be lost when a person has ended it', async () => {
    const captured = await capture('ended', { ended: plugged.then(() => 'ended by a person') });
    expect(captured).toMatchObject({ capture: { state: 'ended' }, lost: null, missed: 0 });
    const { end, entries } = readCapture(readFileSync(join(folder, 'ended'), 'utf8'), 'ended');
    expect({ end, entries }).toEqual({ end: 'ended by a person', entries: [] });
  });

  it('is given back with a whole capture when its driver cannot be opened there', async () => {
    // No driver fails by itself: its first timer does.
    let asked = 0;
    const failing: Clock = {
      ...clock,
      after(microseconds, callback) {
        asked += 1;
        if (asked === 1) throw new RangeError('no timer');
        return clock.after(microseconds, callback);
      },
    };
    await expect(capture('no-driver', { clock: failing })).rejects.toThrow('no timer');
    const { end } = readCapture(readFileSync(join(folder, 'no-driver'), 'utf8'), 'no-driver');
    expect(end).toBe('the driver could not be opened');
  });
});
