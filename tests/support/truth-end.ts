import { decodeTruth } from '../../drivers/virtual-rig/truth.ts';
import { readTruthFile } from '../../src/host/rig/truth-file.ts';

/** How far a truth record reaches, µs of the rig's monotonic clock; 0 when it holds nothing. */
export function openTruthEnd(path: string): number {
  const last = decodeTruth(readTruthFile(path))?.stretches.at(-1);
  return last === undefined ? 0 : last.fromMicroseconds + last.challenge.length * last.binMicroseconds;
}
