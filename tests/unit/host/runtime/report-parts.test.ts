import { describe, expect, it } from 'vitest';
import type { ReportPart } from '../../../../src/bridge/report-part.ts';
import { reportPartSchema, reportPieceBytes } from '../../../../src/bridge/report-part.ts';
import { reportParts, type ReportMaker } from '../../../../src/host/runtime/report-parts.ts';
import { ChambersideError } from '../../../../src/model/error-code.ts';

const name = 't-000000000001.pdf';

async function partsOf(make: ReportMaker): Promise<ReportPart[]> {
  const parts: ReportPart[] = [];
  for await (const part of reportParts(make, name)) parts.push(reportPartSchema.parse(part));
  return parts;
}

describe('a report on its way to a window', () => {
  it.each([0, 1, reportPieceBytes, reportPieceBytes + 1, 200_000])('arrives whole, of %i bytes', async (length) => {
    const bytes = Uint8Array.from({ length }, (_, index) => (index * 7) % 256);
    const parts = await partsOf(async (onStep) => {
      onStep('reading');
      await new Promise((resolve) => setTimeout(resolve, 5));
      onStep('setting');
      return { bytes };
    });
    const [first, second, file, ...pieces] = parts;
    expect([first, second]).toEqual([
      { part: 'step', step: 'reading' },
      { part: 'step', step: 'setting' },
    ]);
    expect(file).toEqual({ part: 'file', name: 't-000000000001.pdf', bytes: length });
    expect(pieces.length).toBe(Math.ceil(length / reportPieceBytes));
    const arrived = pieces.map((piece) => Buffer.from(piece.part === 'piece' ? piece.base64 : '', 'base64'));
    expect(Buffer.concat(arrived).equals(Buffer.from(bytes))).toBe(true);
  });

  it('says a step as soon as it begins', async () => {
    let finish: () => void = () => undefined;
    const parts = reportParts(async (onStep) => {
      onStep('reading');
      await new Promise<void>((resolve) => {
        finish = resolve;
      });
      return { bytes: new Uint8Array(3) };
    }, name);
    expect((await parts.next()).value).toEqual({ part: 'step', step: 'reading' });
    finish();
    expect((await parts.next()).value).toMatchObject({ part: 'file', bytes: 3 });
  });

  it('says how far a step has come, where that is known', async () => {
    const parts = await partsOf(async (onStep) => {
      onStep('walking', 0.25);
      return { bytes: new Uint8Array(0) };
    });
    expect(parts[0]).toEqual({ part: 'step', step: 'walking', share: 0.25 });
  });

  it('passes a refusal on, after the steps that were', async () => {
    const refusal = new ChambersideError('trial-not-finished', 'not sealed', 'x', 'Close it.');
    const parts = reportParts((onStep) => {
      onStep('reading');
      return Promise.reject(refusal);
    }, name);
    expect((await parts.next()).value).toEqual({ part: 'step', step: 'reading' });
    await expect(parts.next()).rejects.toBe(refusal);
  });
});
