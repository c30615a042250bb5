import type { ReportPart, ReportStep } from '../../bridge/report-part.ts';
import { reportPieceBytes } from '../../bridge/report-part.ts';

/** Makes a report away from the thread that reads the ports, and tells its steps. */
export type ReportMaker = (
  onStep: (step: ReportStep, share?: number) => void,
) => Promise<{ readonly bytes: Uint8Array }>;

/**
 * A report as a window gets it: steps as they begin, then the file in pieces. Each piece waits until the one before was
 * asked for. @param name of the file. @throws ChambersideError as the maker.
 */
export async function* reportParts(
  make: ReportMaker,
  name: string,
): AsyncGenerator<ReportPart, void, undefined> {
  const steps: { readonly step: ReportStep; readonly share?: number }[] = [];
  let wake: () => void = () => undefined;
  let over = false;
  const made = make((step, share) => {
    steps.push(share === undefined ? { step } : { step, share });
    wake();
  }).finally(() => {
    over = true;
    wake();
  });
  // Awaited below; until then a refusal must not count as one that nobody sees.
  made.catch(() => undefined);
  for (;;) {
    const step = steps.shift();
    if (step !== undefined) yield { part: 'step', ...step };
    else if (over) break;
    else {
      await new Promise<void>((resolve) => {
        wake = resolve;
      });
    }
  }
  const { bytes } = await made;
  yield { part: 'file', name, bytes: bytes.length };
  for (let from = 0; from < bytes.length; from += reportPieceBytes) {
    const piece = bytes.subarray(from, from + reportPieceBytes);
    yield { part: 'piece', base64: Buffer.from(piece.buffer, piece.byteOffset, piece.length).toString('base64') };
  }
}
