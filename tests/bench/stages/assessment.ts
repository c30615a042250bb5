import { join } from 'node:path';
import { readPlannedMethod, readTrial } from '../../../src/host/store/read.ts';
import { assess } from '../../../src/leakage/assess.ts';
import { recordedDwells } from '../../../src/leakage/recorded-dwell.ts';
import { streamOf, type TrialRecord } from '../../../src/model/trial-record.ts';
import { rehearsed } from '../rehearsed.ts';
import type { Stage } from '../stage.ts';
import { assertSame, timed } from '../stage.ts';

/**
 * A recorded trial to inward leakage. Floor: one pass over the photometer's readings, with the running mean and
 * standard deviation of every dwell, found by time. Product: `assess`, on the same record in memory.
 */
export const assessment: Stage = {
  name: 'assessment',
  unit: 'ms a trial',
  target: 3,
  rounds: { full: 400, tiny: 1 },
  warmUps: 200,
  async begin(size, folder) {
    const path = join(folder, 'trial.chamberside');
    const { trial } = await rehearsed(size, path);
    const record = readTrial(path, trial);
    const method = readPlannedMethod(path, trial);
    const stays = recordedDwells(record.events).map(({ beganAtMicroseconds: from, endedAtMicroseconds: to }) => ({
      from,
      to: to ?? Number.POSITIVE_INFINITY,
    }));
    return {
      floor: () => timed(() => assertSame('assessment', 'dwells', onePass(record, stays).length, stays.length)),
      product: () => timed(() => void assess(record, method)),
      end: () => undefined,
    };
  },
};

interface Stay {
  readonly from: number;
  readonly to: number;
}

/** Mean and standard deviation of each stay, by Welford's recurrence. */
function onePass(record: TrialRecord, stays: readonly Stay[]): { mean: number; deviation: number }[] {
  const stream = streamOf(record, record.rig.photometer, record.rig.photometerStream);
  if (stream === undefined) throw new Error('assessment: the record has no photometer');
  const { atMicroseconds, values } = stream;
  const found: { mean: number; deviation: number }[] = [];
  let index = 0;
  for (const { from, to } of stays) {
    while (index < values.length && (atMicroseconds[index] as number) < from) index += 1;
    let count = 0;
    let mean = 0;
    let squares = 0;
    while (index < values.length && (atMicroseconds[index] as number) < to) {
      const value = values[index] as number;
      count += 1;
      const step = value - mean;
      mean += step / count;
      squares += step * (value - mean);
      index += 1;
    }
    found.push({ mean, deviation: Math.sqrt(squares / (count - 1)) });
  }
  return found;
}
