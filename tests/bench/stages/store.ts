import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import { definition, host, trialName, valueAt } from '../../support/store/trial.ts';
import type { Stage } from '../stage.ts';
import { timed, timedUntil } from '../stage.ts';

const second = 1_000_000;
/** Two streams at 100 Hz, each with its line: the load that the program is laid out for. */
const perSecond = 100;

/**
 * One second of a trial from memory to the disk. Floor: its readings and bytes as one blob in one insert, a commit
 * with `synchronous = FULL` in this thread. Product: the recorder and its writer, until the link is acknowledged:
 * chunks, digests, chain and all.
 */
export const store: Stage = {
  name: 'store',
  unit: 'ms a second of trial',
  target: 3,
  rounds: { full: 400, tiny: 3 },
  warmUps: 50,
  async begin(_size, folder) {
    const bare = new Database(join(folder, 'floor.sqlite'));
    bare.pragma('journal_mode = WAL');
    bare.pragma('synchronous = FULL');
    bare.exec('CREATE TABLE record (second INTEGER PRIMARY KEY, blob BLOB NOT NULL) STRICT');
    const insert = bare.prepare('INSERT INTO record (second, blob) VALUES (?, ?)');
    const study = await openStudyForRecording({
      path: join(folder, 'product.chamberside'),
      create: { studyName: 'bench' },
      hostId: host,
    });
    const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
    const encoder = new TextEncoder();
    const lines = Array.from({ length: perSecond }, (_, index) =>
      encoder.encode(`conc ${(10 + valueAt(2, index * 10_000)).toFixed(5)} mg/m3 ok *42\r\n`),
    );
    const bytesPerSecond = 2 * lines.reduce((sum, line) => sum + line.length, 0);
    const timeOf = (number: number, index: number): number => number * second + index * 10_000 + 137;
    let floorSecond = 0;
    let productSecond = 0;
    return {
      floor: () =>
        timed(() => {
          const readings = new Float64Array(4 * perSecond);
          const blob = new Uint8Array(readings.byteLength + bytesPerSecond);
          let at = readings.byteLength;
          for (let index = 0; index < perSecond; index += 1) {
            const time = timeOf(floorSecond, index);
            const line = lines[index] as Uint8Array;
            for (let stream = 0; stream < 2; stream += 1) {
              readings[4 * index + 2 * stream] = time;
              readings[4 * index + 2 * stream + 1] = index / 7;
              blob.set(line, at);
              at += line.length;
            }
          }
          blob.set(new Uint8Array(readings.buffer));
          insert.run(floorSecond, blob);
          floorSecond += 1;
        }),
      product: () =>
        timedUntil(async () => {
          for (let index = 0; index < perSecond; index += 1) {
            const time = timeOf(productSecond, index);
            const line = lines[index] as Uint8Array;
            for (let stream = 0; stream < 2; stream += 1) {
              trial.wire(stream, 'in', time, line);
              trial.reading(stream, time, index / 7);
            }
          }
          productSecond += 1;
          trial.handOver(productSecond * second);
          await trial.settled();
        }),
      async end() {
        bare.close();
        await trial.abandon();
        await study.close();
      },
    };
  },
};
