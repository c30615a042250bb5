import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { rehearse, type RehearsalResult } from '../../src/host/rehearsal/rehearse.ts';
import { listUnfinishedTrials, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { ChambersideError } from '../../src/model/error-code.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { drawStorm, type Storm } from './draw-storm.ts';
import { judgeStorm, type StormVerdict } from './judge-storm.ts';
import { troubledDisk, type DiskRecord } from './troubled-disk.ts';

/** A trial that went through a storm, as it stands in its file. */
export interface Weathered {
  readonly storm: Storm;
  readonly record: TrialRecord;
  readonly intact: boolean;
  readonly findings: readonly string[];
  readonly disk: DiskRecord;
  /** Of a trial that was given up, the last link in the file; else -1. */
  readonly lastLink: number;
  /** Null when the rehearsal gave the trial up: held again and again. */
  readonly result: RehearsalResult | null;
  /** Why it was given up. */
  readonly givenUp: string | null;
}

/** Runs the storm of a seed in a folder, judges it, and leaves no file behind unless something is broken. */
export async function runStorm(seed: number, folder: string): Promise<StormVerdict> {
  const storm = drawStorm(seed);
  const scenario = join(folder, `${storm.scenario.name}.json`);
  const study = join(folder, `${storm.scenario.name}.chamberside`);
  writeFileSync(scenario, JSON.stringify(storm.scenario));
  const disk: DiskRecord = { failures: 0, lastLink: 0 };
  const timersBefore = timers();
  let result: RehearsalResult | null = null;
  let givenUp: string | null = null;
  let trial = '';
  try {
    result = await rehearse({
      ...{ studyPath: study, wire: 'none', scenario, seed, speed: Infinity, resume: false },
      ...{ subject: 'S01', ensemble: 'A', operator: 'storm', heartRateLimit: 180 },
      openStudy: troubledDisk(storm, disk),
      onProgress(progress) {
        ({ trial } = progress);
      },
    });
  } catch (error) {
    if (!(error instanceof ChambersideError) || error.code !== 'trial-not-finished') throw error;
    givenUp = error.what;
  }
  const report = verify(study);
  const verdict = judgeStorm(
    {
      ...{ storm, disk, result, givenUp },
      record: readTrial(study, result?.trial ?? trial),
      lastLink: result === null ? (listUnfinishedTrials(study)[0]?.lastLink ?? -1) : -1,
      intact: report.intact,
      findings: report.findings.filter(({ severity }) => severity === 'bad').map(({ text }) => text),
    },
    timers() - timersBefore,
  );
  if (verdict.broken.length === 0) {
    for (const end of ['', '-wal', '-shm']) rmSync(`${study}${end}`, { force: true });
    rmSync(scenario, { force: true });
  }
  return verdict;
}

/** Timers, handles and requests that keep the process alive. */
function timers(): number {
  return process.getActiveResourcesInfo().length;
}
