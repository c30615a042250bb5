import { join } from 'node:path';
import Database from 'better-sqlite3';
import { readWire } from '../../../src/host/store/read.ts';
import { rehearsed } from '../rehearsed.ts';
import type { Stage } from '../stage.ts';
import { assertSame, timed } from '../stage.ts';

const second = 1_000_000;

/**
 * A whole rehearsal, from the virtual rig to the assessment beside the truth. Floor: its bytes are there already; those
 * of each second are cut into lines and numbers and committed in one insert with `synchronous = FULL`. No rig, no
 * clock, no trial: what is left of the work when everything but durable seconds costs nothing.
 */
export const rehearsal: Stage = {
  name: 'rehearsal',
  unit: 'ms a minute of trial',
  target: 9,
  rounds: { full: 7, tiny: 1 },
  warmUps: 1,
  async begin(size, folder) {
    const path = join(folder, 'first.chamberside');
    const first = await rehearsed(size, path);
    const seconds = Array.from({ length: Math.ceil(first.trialSeconds) + 1 }, (): Uint8Array[] => []);
    for (const { atMicroseconds, bytes } of readWire(path, first.trial)) {
      seconds[Math.floor(atMicroseconds / second)]?.push(bytes);
    }
    const blobs = seconds.map((reads) => Buffer.concat(reads));
    const perMinute = (milliseconds: number, trialSeconds: number): number => (milliseconds * 60) / trialSeconds;
    let round = 0;
    const file = (ending: string): string => join(folder, `${(round += 1)}.${ending}`);
    return {
      floor() {
        const floorPath = file('sqlite');
        let words = 0;
        const took = timed(() => {
          words = recordBare(floorPath, blobs);
        });
        if (words < first.counts.readings) assertSame('rehearsal', 'words', words, first.counts.readings);
        return perMinute(took, first.trialSeconds);
      },
      async product() {
        const result = await rehearsed(size, file('chamberside'));
        assertSame('rehearsal', 'readings', first.counts.readings, result.counts.readings);
        return perMinute(result.realSeconds * 1000, result.trialSeconds);
      },
      end: () => undefined,
    };
  },
};

/** @returns how many words the lines held, each of them tried for a number: contacts say how they stand in words. */
function recordBare(path: string, blobs: readonly Buffer[]): number {
  const bare = new Database(path);
  bare.pragma('journal_mode = WAL');
  bare.pragma('synchronous = FULL');
  bare.exec('CREATE TABLE record (second INTEGER PRIMARY KEY, blob BLOB NOT NULL) STRICT');
  const insert = bare.prepare('INSERT INTO record (second, blob) VALUES (?, ?)');
  let words = 0;
  let sum = 0;
  for (const [index, blob] of blobs.entries()) {
    for (const line of blob.toString('latin1').split('\n')) {
      for (const word of line.split(' ')) {
        if (word === '') continue;
        words += 1;
        const number = Number(word);
        if (!Number.isNaN(number)) sum += number;
      }
    }
    insert.run(index, blob);
  }
  bare.close();
  if (sum === 0) throw new Error('the lines held no number');
  return words;
}
