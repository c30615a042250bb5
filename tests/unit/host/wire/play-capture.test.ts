import { describe, expect, it } from 'vitest';
import { decodedText } from '../../../../src/host/cli/wire-text.ts';
import { readCapture } from '../../../../src/host/wire/capture-file.ts';
import type { Capture } from '../../../../src/host/wire/capture-file.ts';
import { expectationOf } from '../../../../src/host/wire/capture-fixture.ts';
import { playCapture } from '../../../../src/host/wire/play-capture.ts';
import { captureHeader } from '../../../support/wire/capture-header.ts';

const header = captureHeader({
  instrument: {
    instrument: 'photometer',
    kind: 'photometer',
    dialect: 'text-lines',
    settings: { line: 'conc {value}', checksum: 'none' },
  },
  connection: null,
});

/** Text that arrived, each a tenth of a second after the one before; a number is a loss of so many entries. */
function capture(parts: readonly (string | number)[], end = parts.length / 10): Capture {
  const lines = parts.map((part, index) =>
    typeof part === 'number'
      ? { missed: part }
      : { atSeconds: index / 10, direction: 'in', hex: Buffer.from(part, 'latin1').toString('hex') },
  );
  const all = [header, ...lines, { atSeconds: end, end: 'ended by a person' }];
  return readCapture(all.map((line) => `${JSON.stringify(line)}\n`).join(''), 'capture');
}

const valuesOf = async (parts: readonly (string | number)[]): Promise<number[]> =>
  (await playCapture(capture(parts))).readings.map(({ value }) => value);

describe('a capture that is played', () => {
  it('makes no reading of two halves with a loss between', async () => {
    const before = 'conc 1.5\n';
    const after = 'conc 3.5\n';
    expect(await valuesOf([before, 'conc 2', '25\n', after])).toEqual([1.5, 225, 3.5]);
    expect(await valuesOf([before, 'conc 2', 7, '25\n', after])).toEqual([1.5, 3.5]);
  });

  it('marks what it says first, which may be of a line that began before it', async () => {
    const cut = { ...header, instrument: { ...header.instrument, settings: { line: '{value}', checksum: 'none' } } };
    // Of 12.34 the beginning came before the capture did.
    const played = await playCapture({ ...capture(['2.34\n', '12.35\n', 3, '12.36\n', '12.37\n']), header: cut });
    expect(played.readings.map(({ edge, value }) => [value, edge])).toEqual([
      [2.34, true],
      [12.35, false],
      [12.36, true],
      [12.37, false],
    ]);
    expect(expectationOf(played).readings.map(({ edge }) => edge)).toEqual([true, undefined, true, undefined]);
    expect(decodedText(played)[0]).toContain('2.34  (first of a conversation: its line may be cut)');
  });

  it('shows the silence of an instrument that says nothing more, up to its end', async () => {
    const problemsUntil = async (end: number): Promise<readonly string[]> =>
      (await playCapture(capture(['conc 1.5\n'], end))).problems.map(({ code }) => code);
    // The limit of silence is 2 s.
    expect(await problemsUntil(1.9)).toEqual([]);
    expect(await problemsUntil(30)).toEqual(['silence']);
  });
});
