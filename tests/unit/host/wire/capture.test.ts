import { existsSync, mkdtempSync, readFileSync, rmSync, truncateSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { createMonotonicClock } from '../../../../src/host/clock/monotonic-clock.ts';
import { beginCapture, createCaptureFile, leftForTrials } from '../../../../src/host/wire/capture.ts';
import type { CaptureFile, RunningCapture } from '../../../../src/host/wire/capture.ts';
import { readCapture } from '../../../../src/host/wire/capture-file.ts';
import { createWireLog, keptChunks } from '../../../../src/host/wire/wire-log.ts';
import type { WireLog } from '../../../../src/host/wire/wire-log.ts';
import { textToBytes } from '../../../../src/model/bytes.ts';
import { captureHeader } from '../../../support/wire/capture-header.ts';

const folder = mkdtempSync(join(tmpdir(), 'chamberside-capture-'));
afterAll(() => rmSync(folder, { recursive: true }));
const clock = createMonotonicClock();

const header = captureHeader();

function begin(log: WireLog, path: string, file: CaptureFile): RunningCapture {
  return beginCapture({ log, clock, path, file, header, onChange: () => undefined });
}
const say = (log: WireLog, text: string): void => log.chunk('in', clock.now(), textToBytes(text));

describe('a capture', () => {
  it('holds what came after its beginning, byte for byte, with problems and its end', async () => {
    const path = join(folder, 'whole');
    const log = createWireLog();
    say(log, 'before\n');
    const capture = begin(log, path, await createCaptureFile(path));
    say(log, 'conc 1.0\r\n\u0000\u00ff');
    log.chunk('out', clock.now(), textToBytes('P3\r'));
    const at = clock.now();
    log.problem({ instrument: 'photometer', atMicroseconds: at, code: 'line-undecodable', detail: 'x', byteCount: 2 });
    await capture.end('ended by a person');
    const text = readFileSync(path, 'utf8');
    expect(capture.state).toEqual({ state: 'ended', path, bytes: Buffer.byteLength(text), detail: null });
    const read = readCapture(text, path);
    expect(read).toMatchObject({ header, missed: 0, end: 'ended by a person', tornBytes: 0 });
    expect(read.entries).toMatchObject([
      { entry: 'bytes', direction: 'in', hex: Buffer.from('conc 1.0\r\n\u0000\u00ff', 'latin1').toString('hex') },
      { entry: 'bytes', direction: 'out', hex: '50330d' },
      { entry: 'problem', code: 'line-undecodable', byteCount: 2 },
    ]);
    await expect(createCaptureFile(path)).rejects.toMatchObject({ code: 'file-exists' });
  });

  it('that was cut anywhere is read up to its last whole line', async () => {
    const path = join(folder, 'cut');
    const log = createWireLog();
    const capture = begin(log, path, await createCaptureFile(path));
    for (let line = 0; line < 20; line += 1) say(log, `line ${line}\n`);
    await capture.end('ended by a person');
    const text = readFileSync(path, 'utf8');
    const headerLength = text.indexOf('\n') + 1;
    for (let length = headerLength; length < text.length; length += 1) {
      const cut = text.slice(0, length);
      const read = readCapture(cut, path);
      expect(read.entries).toHaveLength(Math.min(20, cut.slice(headerLength).split('\n').length - 1));
      expect(read.tornBytes).toBe(length - cut.lastIndexOf('\n') - 1);
      expect(read.end).toBeNull();
    }
    truncateSync(path, headerLength - 5);
    const noHeader = expect.objectContaining({ code: 'file-not-ours' }) as Error;
    expect(() => readCapture(readFileSync(path, 'utf8'), path)).toThrow(noHeader);
  });

  it('says how many it could not keep up with on a disk that is slower than the wire', async () => {
    let text = '';
    let letGo: () => void = () => undefined;
    const slow = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    const log = createWireLog();
    const capture = begin(log, 'slow', {
      append: async (more) => {
        await slow;
        text += more;
      },
      free: () => Promise.resolve(null),
      close: () => Promise.resolve(),
    });
    const all = keptChunks + 1_000;
    for (let line = 0; line < all; line += 1) say(log, `${line}\n`);
    letGo();
    await capture.end('ended by a person');
    const read = readCapture(text, 'slow');
    expect(read.missed).toBe(1_000);
    // In its place: before all that is left.
    expect(read.entries).toHaveLength(1 + keptChunks);
    expect(read.entries[0]).toEqual({ entry: 'missed', number: 1, atMicroseconds: 0, missed: 1_000 });
    expect(capture.missed).toBe(1_000);
  });

  it('stops with a notice when the disk is full, and the log goes on', async () => {
    // The device on which every write fails for want of space: the kernel's own answer.
    const full = await open('/dev/full', 'a');
    const log = createWireLog();
    const capture = begin(log, '/dev/full', {
      append: (text) => full.appendFile(text),
      free: () => Promise.resolve(null),
      close: () => full.close(),
    });
    await capture.end('ended by a person');
    expect(capture.state).toMatchObject({ state: 'stopped', bytes: 0 });
    expect(capture.state.detail).toMatch(/The disk is full/);
    say(log, 'still here\n');
    expect(log.read(0, 10).entries).toHaveLength(1);
  });

  it('ends before it is too large to be read, with a notice and whole', async () => {
    let text = '';
    const log = createWireLog();
    let capture: RunningCapture | undefined;
    const mebibyte = 1024 * 1024;
    const stopped = new Promise<void>((resolve) => {
      const file = {
        append: async (more: string) => void (text += more),
        free: () => Promise.resolve(null),
        close: () => Promise.resolve(),
      };
      const options = { log, clock, path: 'large', file, header, onChange: resolve };
      capture = beginCapture({ ...options, mostBytes: 5 * mebibyte });
    });
    const more = setInterval(() => {
      for (let read = 0; read < 4; read += 1) log.chunk('in', clock.now(), new Uint8Array(60_000));
    }, 20);
    await stopped;
    clearInterval(more);
    expect(capture?.state).toMatchObject({ state: 'stopped', bytes: text.length });
    expect(capture?.state.detail).toMatch(/as large as one can be/);
    expect(text.length).toBeGreaterThanOrEqual(mebibyte);
    expect(text.length).toBeLessThan(5 * mebibyte);
    const { end, tornBytes } = readCapture(text, 'large');
    expect({ end, tornBytes }).toEqual({ end: 'it has become as large as a capture can be', tornBytes: 0 });
  });

  it('is not begun, and leaves no empty file, where the last of the disk is left', async () => {
    const path = join(folder, 'no-room');
    const noRoom = createCaptureFile(path, () => Promise.resolve(leftForTrials - 1));
    await expect(noRoom).rejects.toMatchObject({ code: 'disk-full' });
    expect(existsSync(path)).toBe(false);
    await (await createCaptureFile(path, () => Promise.resolve(leftForTrials))).close();
  });

  it('leaves the last of the disk to what is recorded there', async () => {
    const log = createWireLog();
    let written = 0;
    const capture = begin(log, 'small', {
      append: async (text) => void (written += text.length),
      free: () => Promise.resolve(leftForTrials - 1),
      close: () => Promise.resolve(),
    });
    await capture.end('ended by a person');
    expect(capture.state).toMatchObject({ state: 'stopped', bytes: 0 });
    expect(capture.state.detail).toMatch(/256 MB/);
    expect(written).toBe(0);
  });
});

describe('a file that is no capture', () => {
  const refuses = (text: string, code: string): void =>
    expect(() => readCapture(text, 'file')).toThrow(expect.objectContaining({ code }));
  const good = `${JSON.stringify(header)}\n`;

  it('is refused with the line that is wrong', () => {
    refuses('', 'file-not-ours');
    refuses('hello\n', 'file-not-ours');
    refuses(`${JSON.stringify({ ...header, version: 2 })}\n`, 'file-newer');
    refuses(`${JSON.stringify({ ...header, startedAt: 'today' })}\n`, 'file-damaged');
    for (const line of ['x', '{}', '{"atSeconds":1,"direction":"in","hex":"0"}', '{"atSeconds":-1,"end":"x"}']) {
      refuses(`${good}${line}\n`, 'file-damaged');
    }
    refuses(`${good}{"atSeconds":1,"end":"x"}\n{"missed":1}\n`, 'file-damaged');
  });
});
