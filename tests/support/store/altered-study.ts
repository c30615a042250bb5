import Database from 'better-sqlite3';
import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import { definition, host, method, recordSecond, segment, trialName } from './trial.ts';

/** Three sealed trials of 12 s, one unsealed with a second segment, and an assessment: what tests then alter. */
export async function makeStudy(path: string): Promise<void> {
  const study = await openStudyForRecording({ path, create: { studyName: 'altered' }, hostId: host });
  for (const number of [1, 2, 3, 4]) {
    const trial = await study.createTrial(definition(study.identity.study, trialName(number)));
    for (let second = 0; second < 12; second += 1) recordSecond(trial, second);
    if (number < 4) await trial.seal();
    else {
      trial.beginSegment(segment(1, 30_000_000));
      recordSecond(trial, 31);
      await trial.abandon();
    }
  }
  await study.storeAssessment({
    trial: trialName(1),
    method,
    program: '0.1.0',
    details: null,
    cells: [
      {
        exercise: 'walking',
        probe: 'ankle',
        dwellPosition: 1,
        windowPercent: 0.25,
        windowLowPercent: 0.2,
        windowHighPercent: 0.3,
        exercisePercent: null,
        flags: [],
      },
    ],
  });
  await study.close();
}

/** Alters a file as somebody would who knows SQLite: without the triggers, which are put back afterwards. */
export function alter(path: string, work: (file: Database.Database) => void): void {
  const file = new Database(path);
  file.pragma('foreign_keys = OFF');
  file.pragma('synchronous = OFF');
  file.exec('BEGIN');
  const triggers = file
    .prepare<[], { name: string; sql: string }>("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    .all();
  for (const { name } of triggers) file.exec(`DROP TRIGGER ${name}`);
  work(file);
  for (const { sql } of triggers) file.exec(sql);
  file.exec('COMMIT');
  file.close();
}

/** The bytes with one bit turned over. */
export function flipped(bytes: Buffer, bit: number): Buffer {
  const copy = Buffer.from(bytes);
  copy[bit >> 3] = (copy[bit >> 3] as number) ^ (1 << (bit & 7));
  return copy;
}
