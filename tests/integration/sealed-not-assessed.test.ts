import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAssessments } from '../../src/host/store/assessments.ts';
import { verify } from '../../src/host/store/verify.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import { measured, rehearse, type PrintedCell, type PrintedRehearsal } from '../support/rehearsal.ts';
import { alter } from '../support/store/altered-study.ts';

/**
 * A rehearsal that was killed between its seal and its assessment: the assessment is one transaction of its own, the
 * last of all, so without it the file is what such a kill leaves.
 */
const folder = temporaryFolder();
const study = folder.file('study.chamberside');
let done: PrintedRehearsal;
let killed: PrintedRehearsal;

beforeAll(async () => {
  done = await rehearse(study, '--scenario', 'short', '--seed', '3');
  killed = await rehearse(study, '--scenario', 'short', '--seed', '4');
  alter(study, (file) => file.exec('DELETE FROM cell WHERE assessment = 2; DELETE FROM assessment WHERE number = 2'));
});
afterAll(() => folder.clear());

const sealedNotAssessed = (): string =>
  `  ${killed.trialId}  sealed, not assessed: ` +
  `npx --no-install chamberside assess --study ${study} --trial ${killed.trialId}\n`;

describe('a trial that was sealed and not assessed', () => {
  it('is intact, and listed with its state and the way on by whoever looks for it', async () => {
    expect(verify(study).intact).toBe(true);
    const resumed = await chamberside('rehearse', '--study', study, '--resume');
    expect(resumed.status).toBe(1);
    expect(resumed.stderr).toMatch(/^trial-not-found: the study holds no unfinished rehearsal/);
    const unnamed = await chamberside('assess', '--study', study);
    expect(unnamed.status).toBe(2);
    expect(unnamed.stderr).toMatch(/^usage-unknown-option: the study holds 2 trials .*Name one with --trial/);
    const unknown = await chamberside('assess', '--study', study, '--trial', 't-000000000000');
    expect(unknown.status).toBe(1);
    for (const { stderr } of [resumed, unnamed, unknown]) {
      expect(stderr).toContain(`Trials of the study:\n  ${done.trialId}  sealed, assessed\n`);
      expect(stderr).toContain(sealedNotAssessed());
    }
    expect(listAssessments(study)).toHaveLength(1);
  });

  it('is assessed as if nothing had happened, and it says that this is the first time', async () => {
    const outcome = await chamberside('assess', '--study', study, '--trial', killed.trialId, '--json');
    expect(outcome.status).toBe(0);
    expect(outcome.stderr).toContain('was sealed and had not been assessed: this is its first assessment');
    const printed = JSON.parse(outcome.stdout) as { stateBefore: string; cells: PrintedCell[] };
    expect(printed.stateBefore).toBe('sealed-not-assessed');
    expect(measured(printed.cells)).toEqual(measured(killed.cells));
    const again = await chamberside('assess', '--study', study, '--trial', killed.trialId, '--json');
    expect((JSON.parse(again.stdout) as { stateBefore: string }).stateBefore).toBe('assessed');
    expect(again.stderr).not.toContain('first assessment');
    expect(listAssessments(study, killed.trialId)).toHaveLength(2);
    expect(verify(study).intact).toBe(true);
    const listed = await chamberside('assess', '--study', study);
    expect(listed.stderr).toContain(`  ${killed.trialId}  sealed, assessed 2 times\n`);
  });
});
