import { readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { captureEnding, readCapture } from '../../../src/host/wire/capture-file.ts';
import type { CaptureEntry } from '../../../src/host/wire/capture-file.ts';
import { expectationEnding, expectationOf } from '../../../src/host/wire/capture-fixture.ts';
import type { CaptureExpectation } from '../../../src/host/wire/capture-fixture.ts';
import { playCapture } from '../../../src/host/wire/play-capture.ts';

const folder = fileURLToPath(new URL('../../../fixtures/wire/', import.meta.url));
const captures = readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((path) =>
  path.endsWith(captureEnding),
);

it('there are captures', () => {
  expect(captures.length).toBeGreaterThan(0);
});

/** The same bytes, each as a read of its own. */
function inSingleBytes(entries: readonly CaptureEntry[]): CaptureEntry[] {
  return entries.flatMap((entry) =>
    entry.entry !== 'bytes' || entry.direction === 'out'
      ? [entry]
      : (entry.hex.match(/../g) ?? []).map((hex) => ({ ...entry, hex })),
  );
}

// What is expected is what the driver read when the fixture was made: fixtures/wire/README.md.
describe.each(captures)('the capture %s', (path) => {
  const capture = readCapture(readFileSync(join(folder, path), 'utf8'), path);
  const name = basename(path, captureEnding);
  const expected = JSON.parse(
    readFileSync(join(folder, dirname(path), `${name}${expectationEnding}`), 'utf8'),
  ) as CaptureExpectation;

  it('lies with its driver and is whole', () => {
    const { dialect, kind } = capture.header.instrument;
    expect(dirname(path).split(sep)).toEqual([kind, dialect]);
    expect(capture).toMatchObject({ missed: 0, tornBytes: 0 });
    expect(capture.end).not.toBeNull();
  });

  it('reads as it was read when it was kept', async () => {
    expect(expectationOf(await playCapture(capture))).toEqual(expected);
  });

  it('reads the same when every byte arrives alone', async () => {
    const played = await playCapture({ ...capture, entries: inSingleBytes(capture.entries) });
    expect(expectationOf(played)).toEqual(expected);
  });
});
