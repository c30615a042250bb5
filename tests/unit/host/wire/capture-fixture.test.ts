import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { readCapture } from '../../../../src/host/wire/capture-file.ts';
import type { Capture } from '../../../../src/host/wire/capture-file.ts';
import { writeFixture } from '../../../../src/host/wire/capture-fixture.ts';
import { playCapture } from '../../../../src/host/wire/play-capture.ts';
import { captureHeader } from '../../../support/wire/capture-header.ts';

const folder = mkdtempSync(join(tmpdir(), 'chamberside-fixture-'));
afterAll(() => rmSync(folder, { recursive: true }));

const header = captureHeader({ virtual: true, connection: null });
const read = (...lines: readonly unknown[]): Capture =>
  readCapture([header, ...lines].map((line) => `${JSON.stringify(line)}\n`).join(''), 'capture');
const end = { atSeconds: 1, end: 'ended by a person' };

describe('a fixture', () => {
  it('is made of a whole capture only', async () => {
    for (const [capture, why] of [
      [read({ missed: 3 }, end), /3 losses/],
      [read({ atSeconds: 0, direction: 'in', hex: '0a' }), /cut short/],
    ] as const) {
      const played = await playCapture(capture);
      const message = expect.stringMatching(why) as string;
      const refused = expect.objectContaining({ code: 'action-refused', message }) as Error;
      expect(() => writeFixture(folder, 'one', capture, played)).toThrow(refused);
    }
    expect(readdirSync(folder)).toEqual([]);
    const whole = read(end);
    expect(writeFixture(folder, 'one', whole, await playCapture(whole))).toHaveLength(2);
  });
});
