import { join } from 'node:path';
import Database from 'better-sqlite3';
import { readTrial } from '../../../src/host/store/read.ts';
import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import { definition, host, trialName, valueAt } from '../../support/store/trial.ts';
import type { Stage } from '../stage.ts';
import { assertSame, timed } from '../stage.ts';

const second = 1_000_000;
const perSecond = 100;
const streams = 2;

/**
 * All readings of a recorded trial into arrays. Floor: the same readings as plain doubles, one blob a second and
 * stream, selected in order and copied. Product: `readTrial`, which opens, decodes and checks.
 */
export const readBack: Stage = {
  name: 'read-back',
  unit: 'ms an hour of trial',
  target: 2,
  rounds: { full: 21, tiny: 1 },
  warmUps: 3,
  async begin(size, folder) {
    const seconds = size === 'tiny' ? 30 : 3600;
    const floorPath = join(folder, 'floor.sqlite');
    const path = join(folder, 'product.chamberside');
    const trial = trialName(1);
    await record(path, trial, seconds);
    recordBare(floorPath, seconds);
    const perHour = (milliseconds: number): number => (milliseconds * 3600) / seconds;
    let floorSum = 0;
    return {
      floor() {
        let read: readonly Float64Array[] = [];
        const took = timed(() => {
          read = readBare(floorPath, seconds);
        });
        floorSum = sumOf(read);
        return perHour(took);
      },
      product() {
        let read: readonly Float64Array[] = [];
        const took = timed(() => {
          read = readTrial(path, trial).streams.flatMap(({ atMicroseconds, values }) => [atMicroseconds, values]);
        });
        if (floorSum !== 0) assertSame('read-back', 'the sum', floorSum, sumOf(read));
        return perHour(took);
      },
      end: () => undefined,
    };
  },
};

function readingsOf(stream: number, from: number): { times: Float64Array; values: Float64Array } {
  const times = Float64Array.from({ length: perSecond }, (_, index) => from * second + index * 10_000 + 137);
  return { times, values: times.map((at) => valueAt(stream, at)) };
}

async function record(path: string, trialId: ReturnType<typeof trialName>, seconds: number): Promise<void> {
  const study = await openStudyForRecording({ path, create: { studyName: 'bench' }, hostId: host });
  const trial = await study.createTrial(definition(study.identity.study, trialId));
  for (let from = 0; from < seconds; from += 1) {
    for (let stream = 0; stream < streams; stream += 1) {
      const { times, values } = readingsOf(stream, from);
      for (const [index, at] of times.entries()) trial.reading(stream, at, values[index] as number);
    }
    trial.handOver((from + 1) * second);
    if (from % 200 === 0) await trial.settled();
  }
  await trial.seal();
  await study.close();
}

function recordBare(path: string, seconds: number): void {
  const bare = new Database(path);
  bare.exec('CREATE TABLE chunk (second INTEGER, stream INTEGER, blob BLOB, PRIMARY KEY (second, stream)) STRICT');
  const insert = bare.prepare('INSERT INTO chunk (second, stream, blob) VALUES (?, ?, ?)');
  bare.transaction(() => {
    for (let from = 0; from < seconds; from += 1) {
      for (let stream = 0; stream < streams; stream += 1) {
        const { times, values } = readingsOf(stream, from);
        insert.run(from, stream, Buffer.concat([new Uint8Array(times.buffer), new Uint8Array(values.buffer)]));
      }
    }
  })();
  bare.close();
}

/** Times and values of stream 0, then of stream 1. */
function readBare(path: string, seconds: number): Float64Array[] {
  const arrays = Array.from({ length: 2 * streams }, () => new Float64Array(seconds * perSecond));
  const filled = new Uint32Array(streams);
  const bare = new Database(path, { readonly: true });
  const rows = bare.prepare<[], { stream: number; blob: Buffer }>(
    'SELECT stream, blob FROM chunk ORDER BY second, stream',
  );
  for (const { stream, blob } of rows.iterate()) {
    // The library gives each blob a buffer that begins anywhere; doubles must lie on eights.
    const doubles = new Float64Array(blob.buffer.slice(blob.byteOffset, blob.byteOffset + blob.length));
    const count = doubles.length / 2;
    const at = filled[stream] as number;
    arrays[2 * stream]?.set(doubles.subarray(0, count), at);
    arrays[2 * stream + 1]?.set(doubles.subarray(count), at);
    filled[stream] = at + count;
  }
  bare.close();
  return arrays;
}

function sumOf(arrays: readonly Float64Array[]): number {
  let sum = 0;
  for (const array of arrays) for (const value of array) sum += value;
  return sum;
}
