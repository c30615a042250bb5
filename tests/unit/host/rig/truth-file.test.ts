import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { createTruthFile, readTruthFile } from '../../../../src/host/rig/truth-file.ts';
import { isChambersideError } from '../../../../src/model/error-code.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'chamberside-test-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function codeOf(action: () => unknown): string | undefined {
  try {
    action();
  } catch (error) {
    return isChambersideError(error) ? error.code : String(error);
  }
  return undefined;
}

describe('truth file', () => {
  it('keeps every byte in order, across small and large pieces', () => {
    const path = join(folder, 'a.truth');
    const file = createTruthFile(path, () => 0);
    const pieces = [0, 1, 3, 65_535, 65_536, 65_537, 2, 200_000, 7].map((length, index) =>
      new Uint8Array(length).fill(index + 1),
    );
    for (const piece of pieces) file.append(piece);
    file.close();
    file.close();
    expect(Buffer.from(readTruthFile(path)).equals(Buffer.concat(pieces))).toBe(true);
  });

  it('reaches the operating system with the first append after a second of the rig’s time', () => {
    let now = 5_000_000;
    const path = join(folder, 'b.truth');
    const file = createTruthFile(path, () => now);
    file.append(Uint8Array.of(1));
    now += 999_999;
    file.append(Uint8Array.of(2));
    expect(readFileSync(path)).toHaveLength(0);
    now += 1;
    file.append(Uint8Array.of(3));
    expect([...readFileSync(path)]).toEqual([1, 2, 3]);
    file.append(Uint8Array.of(4));
    file.flush();
    expect([...readFileSync(path)]).toEqual([1, 2, 3, 4]);
    file.close();
    expect(() => file.append(Uint8Array.of(5))).toThrow(RangeError);
  });

  it('never holds more than 64 kB back', () => {
    const path = join(folder, 'c.truth');
    const file = createTruthFile(path, () => 0);
    for (let index = 0; index < 100; index += 1) file.append(new Uint8Array(1000));
    expect(readFileSync(path).length).toBeGreaterThanOrEqual(100_000 - 65_536);
    file.close();
    expect(readFileSync(path)).toHaveLength(100_000);
  });

  it('is never overwritten, but can be continued', () => {
    const path = join(folder, 'd.truth');
    const first = createTruthFile(path, () => 0);
    first.append(Uint8Array.of(1));
    first.close();
    expect(codeOf(() => createTruthFile(path, () => 0))).toBe('file-exists');
    const second = createTruthFile(path, () => 0, 'append');
    second.append(Uint8Array.of(2));
    second.close();
    expect([...readTruthFile(path)]).toEqual([1, 2]);
  });

  it('keeps what the disk refuses until it is too much, and says so when it is closed', () => {
    let now = 0;
    // A device of Linux that takes nothing.
    const truth = createTruthFile('/dev/full', () => now, 'append');
    const full = expect.objectContaining({ code: 'disk-full', where: '/dev/full' }) as Error;
    truth.append(new Uint8Array(70_000));
    now += 1_000_000;
    truth.append(Uint8Array.of(1));
    expect(() => truth.flush()).toThrow(full);
    truth.append(new Uint8Array(64 * 1024 * 1024));
    now += 1_000_000;
    expect(() => truth.append(Uint8Array.of(1))).toThrow(full);
    expect(() => truth.close()).toThrow(full);
    expect(() => truth.close()).not.toThrow();
  });

  it('says what is missing', () => {
    expect(codeOf(() => createTruthFile(join(folder, 'missing', 'e.truth'), () => 0))).toBe('file-not-found');
    expect(codeOf(() => createTruthFile(join(folder, 'missing', 'e.truth'), () => 0, 'append'))).toBe('file-not-found');
    expect(codeOf(() => readTruthFile(join(folder, 'none.truth')))).toBe('file-not-found');
  });
});
