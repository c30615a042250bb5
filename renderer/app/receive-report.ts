import type { ReportPart, ReportStep } from '../../src/bridge/report-part.ts';

/** How far a report has come: what the host is at, or what share of it has arrived. */
export type ReportProgress =
  | { readonly stage: ReportStep; readonly share?: number | undefined }
  | { readonly stage: 'arriving'; readonly share: number };

const contentTypes: Readonly<Record<string, string>> = { pdf: 'application/pdf', html: 'text/html' };

/**
 * Puts the pieces of a report together.
 * @throws Error when the host's last word came before the last byte: half a report is none.
 */
export async function receiveReport(
  parts: AsyncIterable<ReportPart>,
  onProgress: (progress: ReportProgress) => void,
): Promise<{ readonly name: string; readonly file: Blob }> {
  const pieces: Uint8Array<ArrayBuffer>[] = [];
  let name = '';
  let expected = -1;
  let arrived = 0;
  for await (const part of parts) {
    switch (part.part) {
      case 'step':
        onProgress({ stage: part.step, share: part.share });
        break;
      case 'file':
        ({ name, bytes: expected } = part);
        break;
      case 'piece': {
        const piece = Uint8Array.from(atob(part.base64), (character) => character.charCodeAt(0));
        pieces.push(piece);
        arrived += piece.length;
        onProgress({ stage: 'arriving', share: expected > 0 ? arrived / expected : 0 });
      }
    }
  }
  if (arrived !== expected) throw new Error(`${arrived} of ${expected} bytes of the report arrived`);
  return { name, file: new Blob(pieces, { type: contentTypes[name.split('.').at(-1) ?? ''] ?? '' }) };
}

/** Hands a file to the browser's own way of saving. */
export function saveFile(name: string, file: Blob): void {
  const address = URL.createObjectURL(file);
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  // The browser has taken it by the next turn; a minute leaves room for one that asks where to put it.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
