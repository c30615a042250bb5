import { copyFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, expect, it } from 'vitest';
import { readScatter } from '../../../../src/host/compute/scatter-job.ts';
import { readTrialPlan } from '../../../../src/host/store/read.ts';
import { alter } from '../../../support/store/altered-study.ts';
import { temporaryFolder, trialName } from '../../../support/store/trial.ts';

const folder = temporaryFolder();
afterAll(() => folder.remove());

it('goes on beyond a trial that cannot be read, and names it and every file that cannot', () => {
  const path = join(folder.path, 'kept.chamberside');
  copyFileSync(fileURLToPath(new URL('../../../../fixtures/databases/study-1.sqlite', import.meta.url)), path);
  const { rig } = readTrialPlan(path, trialName(1));
  expect(readScatter(folder.path, rig)).toEqual({ shown: null, unread: [] });
  writeFileSync(join(folder.path, 'foreign.chamberside'), 'hello');
  alter(path, (file) => file.exec("DELETE FROM frozen WHERE trial = 1 AND part = 'rig'"));
  expect(readScatter(folder.path, rig)).toMatchObject({
    shown: null,
    unread: [
      { file: 'foreign.chamberside', trial: null, failure: { code: 'file-not-ours' } },
      { file: 'kept.chamberside', trial: trialName(1), failure: { code: 'file-damaged' } },
    ],
  });
});
