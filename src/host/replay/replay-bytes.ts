import { readTrial, readWire } from '../store/read.ts';
import type { InstrumentComparison } from './compare.ts';
import { compareWithBytes } from './compare.ts';
import { decodeAgain } from './decode-again.ts';

/**
 * Runs the stored bytes of a trial through the drivers again and holds the record against what they say, instrument by
 * instrument. Reads only.
 * @throws ChambersideError `trial-not-found`, `driver-unknown`, `configuration-invalid`, those of opening a file.
 */
export async function replayBytes(path: string, trial: string): Promise<InstrumentComparison[]> {
  const record = readTrial(path, trial);
  const comparisons: InstrumentComparison[] = [];
  for (const configuration of record.rig.instruments) {
    const wire = readWire(path, trial, configuration.instrument);
    const { events, segments } = record;
    comparisons.push(compareWithBytes(record, await decodeAgain({ configuration, wire, events, segments })));
  }
  return comparisons;
}
