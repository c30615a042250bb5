import { afterAll, describe, expect, it } from 'vitest';
import { listUnfinishedTrials } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { chamberside, temporaryFolder } from '../support/command-line.ts';
import { killAndResume, killAt } from '../support/kill.ts';

const folder = temporaryFolder();
afterAll(() => folder.clear());

describe('kill -9 of a rehearsal', () => {
  it.each([3, 10, 18, 28])('in the background touches no cell of the trial: after %i commits', async (afterLinks) => {
    const outcome = await killAndResume(folder.file(`background-${afterLinks}.chamberside`), {
      afterLinks,
      delayMilliseconds: 0,
      seed: afterLinks,
      scenario: 'short',
    });
    // Zero 6 s, five probes of 5 s, zero 6 s.
    expect(outcome.storedMicroseconds).toBeLessThan(37_000_000);
    expect(outcome.agreement).toMatchObject({ cells: 10, flagged: 0, outside: [] });
  });

  // Entry, lead-in and dwell of the short series; the landing tier does this twenty times at random.
  it.each([42, 61, 97])(
    'loses nothing that was acknowledged, and goes on held: after %i commits',
    async (afterLinks) => {
      const outcome = await killAndResume(folder.file(`kill-${afterLinks}.chamberside`), {
        afterLinks,
        delayMilliseconds: 0,
        seed: afterLinks,
        scenario: 'short',
      });
      expect(outcome.storedMicroseconds).toBeGreaterThanOrEqual(outcome.acknowledgedMicroseconds);
      expect(outcome.agreement.outside).toEqual([]);
    },
  );

  it('between the end of the trial and its seal leaves only the seal to be made', async () => {
    // The seal follows the last commit within milliseconds: a kill that comes too late finds nothing unfinished.
    let study = '';
    let phase: string | null | undefined;
    for (let turn = 1; turn <= 12 && phase === undefined; turn += 1) {
      study = folder.file(`closed-${turn}.chamberside`);
      await killAt(['rehearse', '--study', study, '--seed', '5', '--scenario', 'short'], 149);
      phase = listUnfinishedTrials(study)[0]?.phase;
    }
    expect(phase).toBe('closed');
    const outcome = await chamberside('rehearse', '--study', study, '--resume', '--json');
    expect(outcome.status).toBe(0);
    expect(verify(study)).toMatchObject({ intact: true, trials: [{ sealed: true }] });
    expect(verify(study).trials[0]?.links).toBeLessThan(165);
  });

  it('in a hold is gone on with, too', async () => {
    const study = folder.file('held.chamberside');
    await killAt(['rehearse', '--study', study, '--seed', '6', '--scenario', 'short'], 60);
    const [lost] = listUnfinishedTrials(study);
    // In real time the hold after the restart lasts five seconds; the second kill falls into it.
    await killAt(['rehearse', '--study', study, '--resume', '--speed', '1'], (lost?.lastLink ?? 0) + 3);
    expect(listUnfinishedTrials(study)[0]?.phase).toBe('held');
    const outcome = await chamberside('rehearse', '--study', study, '--resume', '--json');
    expect([outcome.status, outcome.stderr]).toEqual([0, '']);
    expect(verify(study)).toMatchObject({ intact: true, trials: [{ sealed: true }] });
  });
});
