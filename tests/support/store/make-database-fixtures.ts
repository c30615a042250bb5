import { rmSync } from 'node:fs';
import Database from 'better-sqlite3';
import { createDatabase, currentVersion } from '../../../src/host/store/database.ts';
import { openLaboratory } from '../../../src/host/store/laboratory.ts';
import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import { storeVoiding } from '../../../src/host/store/voidings.ts';
import { definition, host, method, recordSecond, rig, series, trialName } from './trial.ts';

/**
 * Writes one database of each kind at the current version into fixtures/databases, with a little of everything.
 * Run it once when a version is released, with `npx tsx tests/support/store/make-database-fixtures.ts`, and commit
 * the files; never run it for a version that is out.
 */
const folder = new URL('../../../fixtures/databases/', import.meta.url).pathname;
const wallClock = (): string => '2026-01-05T08:00:00.000Z';

/** Leaves no trace of deleted rows, the lease among them, which names the machine. */
function vacuum(path: string): void {
  const plain = new Database(path);
  plain.exec('VACUUM');
  plain.close();
}

async function makeStudy(): Promise<void> {
  const path = `${folder}study-${currentVersion('study')}.sqlite`;
  rmSync(path, { force: true });
  const study = await openStudyForRecording({ path, create: { studyName: 'kept study' }, hostId: host, wallClock });
  for (const number of [1, 2]) {
    const trial = await study.createTrial(definition(study.identity.study, trialName(number)));
    for (let second = 0; second < 12; second += 1) recordSecond(trial, second);
    if (number === 1) await trial.seal();
    else await trial.abandon();
  }
  await study.storeAssessment({
    trial: trialName(1),
    method,
    program: '0.1.0',
    details: { note: 'kept' },
    cells: [
      {
        exercise: 'walking',
        probe: 'ankle',
        dwellPosition: 1,
        windowPercent: 0.25,
        windowLowPercent: 0.2,
        windowHighPercent: 0.3,
        exercisePercent: null,
        flags: ['unsettled'],
      },
    ],
  });
  await study.close();
  const decided = { trial: trialName(1), person: 'rita', program: '0.1.0' };
  storeVoiding(path, { ...decided, decision: 'void', reason: 'the hose had come off' }, '2026-01-05T08:01:00.000Z');
  storeVoiding(path, { ...decided, decision: 'withdrawn', reason: 'another trial' }, '2026-01-05T08:02:00.000Z');
  vacuum(path);
}

async function makeLaboratory(): Promise<void> {
  const path = `${folder}laboratory-${currentVersion('laboratory')}.sqlite`;
  rmSync(path, { force: true });
  createDatabase('laboratory', path);
  const laboratory = openLaboratory(path, { wallClock });
  await laboratory.addPerson({ code: 'anna', name: 'Anna', roles: ['operator', 'reviewer'], pin: '482915' });
  laboratory.put('rig', rig);
  laboratory.put('method', method);
  laboratory.put('series', series);
  laboratory.close();
  vacuum(path);
}

await makeStudy();
await makeLaboratory();
