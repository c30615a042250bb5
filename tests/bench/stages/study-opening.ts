import { join } from 'node:path';
import Database from 'better-sqlite3';
import { listStudies } from '../../../src/host/compute/study-jobs.ts';
import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import { definition, host, method, recordSecond, trialName } from '../../support/store/trial.ts';
import type { Stage } from '../stage.ts';
import { assertSame, timed } from '../stage.ts';

const exercises = 10;
const probes = 5;

/**
 * A folder with one study of many trials to the rows that the first screen shows. Floor: the file opened once, four
 * selects for the same facts, JSON parsed. Product: the host's own listing.
 */
export const studyOpening: Stage = {
  name: 'study-opening',
  unit: 'ms',
  target: 3,
  rounds: { full: 150, tiny: 1 },
  warmUps: 20,
  async begin(size, folder) {
    const file = join(folder, 'study.chamberside');
    await recordStudy(file, size === 'tiny' ? 2 : 24);
    return {
      floor() {
        let cells = 0;
        const took = timed(() => {
          cells = listBare(file);
        });
        return checked(took, cells);
      },
      product() {
        let cells = 0;
        const took = timed(() => {
          for (const study of listStudies(folder)) for (const trial of study.trials) cells += trial.cells?.all ?? 0;
        });
        return checked(took, cells);
      },
      end: () => undefined,
    };

    function checked(took: number, cells: number): number {
      assertSame('study-opening', 'cells', (size === 'tiny' ? 2 : 24) * exercises * probes, cells);
      return took;
    }
  },
};

async function recordStudy(path: string, trials: number): Promise<void> {
  const study = await openStudyForRecording({ path, create: { studyName: 'bench' }, hostId: host });
  const cells = Array.from({ length: exercises * probes }, (_, index) => ({
    exercise: `exercise-${Math.floor(index / probes)}`,
    probe: `probe-${index % probes}`,
    dwellPosition: index % probes,
    windowPercent: 0.1 + index / 100,
    windowLowPercent: null,
    windowHighPercent: null,
    exercisePercent: null,
    flags: index % 9 === 0 ? ['unsettled'] : [],
  }));
  for (let number = 1; number <= trials; number += 1) {
    const trial = await study.createTrial(definition(study.identity.study, trialName(number)));
    for (let second = 0; second < 120; second += 1) recordSecond(trial, second);
    await trial.seal();
    const program = '0.1.0';
    await study.storeAssessment({ trial: trialName(number), method, program, cells, details: { cells } });
  }
  await study.close();
}

/** @returns how many cells the newest assessments of all trials have. */
function listBare(path: string): number {
  const bare = new Database(path, { readonly: true });
  try {
    bare.prepare('SELECT study, name, created_at FROM study').get();
    const trials = bare
      .prepare<[], { trial: string; json: string; through: number }>(
        `SELECT trial.trial, frozen.json,
           (SELECT max(through_microseconds) FROM link WHERE trial = trial.number) AS through
         FROM trial JOIN frozen ON frozen.trial = trial.number AND part = 'header' ORDER BY number`,
      )
      .all();
    bare.prepare('SELECT trial, sealed_at, head, links, seal FROM seal').all();
    const flags = bare
      .prepare<[], { trial: string; flags: string }>(
        `SELECT assessment.trial, cell.flags FROM assessment JOIN cell ON cell.assessment = assessment.number`,
      )
      .all();
    const counts = new Map<string, { all: number; flagged: number }>();
    for (const { trial, json } of trials) {
      JSON.parse(json);
      counts.set(trial, { all: 0, flagged: 0 });
    }
    for (const cell of flags) {
      const count = counts.get(cell.trial);
      if (count === undefined) continue;
      count.all += 1;
      if ((JSON.parse(cell.flags) as string[]).length > 0) count.flagged += 1;
    }
    return [...counts.values()].reduce((sum, { all }) => sum + all, 0);
  } finally {
    bare.close();
  }
}
