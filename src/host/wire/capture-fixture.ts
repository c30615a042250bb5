import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { WireEntry } from '../../bridge/wire.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { toSeconds } from '../../model/time.ts';
import { isFileSystemFailure } from '../file-error.ts';
import { captureEnding, endLine, entryLine, headerLine } from './capture-file.ts';
import type { Capture } from './capture-file.ts';
import type { PlayedCapture } from './play-capture.ts';

interface Marked {
  readonly atSeconds: number;
  /** Only where it is so: the first of its conversation, so that its line may be cut. */
  readonly edge?: true;
}

/** What a driver makes of a capture, to be held against later: beside the capture, in a file of its own. */
export interface CaptureExpectation {
  readonly readings: readonly (Marked & { readonly stream: string; readonly value: number })[];
  readonly problems: readonly (Marked & { readonly code: string; readonly byteCount: number })[];
  readonly confirmed: readonly { readonly port: number; readonly atSeconds: number }[];
}

export const expectationEnding = '.expected.json';

export function expectationOf({ confirmed, problems, readings }: PlayedCapture): CaptureExpectation {
  return {
    readings: readings.map(({ atMicroseconds, edge, stream, value }) => ({
      stream,
      atSeconds: toSeconds(atMicroseconds),
      value,
      ...(edge ? { edge } : {}),
    })),
    // Not their words, which are free to change.
    problems: problems.map(({ atMicroseconds, byteCount, code, edge }) => ({
      code,
      byteCount,
      atSeconds: toSeconds(atMicroseconds),
      ...(edge ? { edge } : {}),
    })),
    confirmed: confirmed.map(({ atMicroseconds, port }) => ({ port, atSeconds: toSeconds(atMicroseconds) })),
  };
}

/**
 * Writes a capture and what its driver makes of it as a fixture of that driver:
 * `FOLDER/kind/dialect/NAME.wire.jsonl` and `NAME.expected.json`. Names of rig and port stay out.
 * @returns both paths. @throws ChambersideError `action-refused` for one that is not whole, `file-exists`.
 */
export function writeFixture(folder: string, name: string, capture: Capture, played: PlayedCapture): string[] {
  const { end, missed } = capture;
  if (end === null || missed > 0) {
    const what = missed > 0 ? `has ${missed} losses in it` : 'is cut short';
    const remedy = 'Capture it again: only a whole capture says what its driver shall read.';
    throw new ChambersideError('action-refused', `the capture ${what} and becomes no fixture`, name, remedy);
  }
  const { dialect, kind } = capture.header.instrument;
  const own = join(folder, kind, dialect);
  mkdirSync(own, { recursive: true });
  const lines = [
    headerLine({ ...capture.header, rig: 'fixture', connection: null }),
    ...capture.entries.map((entry) => (entry.entry === 'missed' ? '' : entryLine(withoutPort(entry), 0))),
    endLine(end, capture.durationMicroseconds, 0),
  ];
  const expectation = expectationOf(played);
  const files = [
    { path: join(own, `${name}${captureEnding}`), text: lines.join('') },
    { path: join(own, `${name}${expectationEnding}`), text: expectationText(expectation) },
  ];
  for (const { path, text } of files) {
    try {
      writeFileSync(path, text, { flag: 'wx' });
    } catch (error) {
      if (!isFileSystemFailure(error) || error.code !== 'EEXIST') throw error;
      throw new ChambersideError('file-exists', 'The fixture exists already', path, 'Give it another --name.');
    }
  }
  return files.map(({ path }) => path);
}

/** What is said of a connection names the port. */
function withoutPort(entry: WireEntry): WireEntry {
  const ofConnection = entry.entry === 'problem' && entry.code.startsWith('connection-');
  return ofConnection ? { ...entry, detail: '' } : entry;
}

/** One reading or problem a line, so that a change can be read. */
function expectationText(expectation: CaptureExpectation): string {
  const parts = Object.entries(expectation).map(([name, list]) => {
    const rows = (list as readonly unknown[]).map((one) => `    ${JSON.stringify(one)}`);
    return rows.length === 0 ? `  "${name}": []` : `  "${name}": [\n${rows.join(',\n')}\n  ]`;
  });
  return `{\n${parts.join(',\n')}\n}\n`;
}
