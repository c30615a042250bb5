import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import { studyRowSchema } from '../../../../src/bridge/snapshot.ts';
import { createComputer } from '../../../../src/host/compute/computer.ts';
import { createStudyFile, fileStem, listStudies, standingOf } from '../../../../src/host/compute/study-jobs.ts';
import { definition, host, method, recordSecond, temporaryFolder, trialName } from '../../../support/store/trial.ts';
import { openStudyForRecording } from '../../../../src/host/store/recorder.ts';
import { readStreamBetween, readTrial } from '../../../../src/host/store/read.ts';

const now = '2026-01-05T08:00:00.000Z';
const computer = createComputer();
let folder = temporaryFolder();
beforeEach(() => {
  folder = temporaryFolder();
});
afterEach(() => folder.remove());
afterAll(() => computer.end());

describe('names of study files', () => {
  it.each([
    ['Grain terminal coveralls', 'grain-terminal-coveralls'],
    ['Überzug №1 / 2026', 'uberzug-no1-2026'],
    ['../../etc/passwd', 'etc-passwd'],
    ['漢字', 'study'],
  ])('%s becomes %s', (name, stem) => {
    expect(fileStem(name)).toBe(stem);
  });

  it('get a number where one is taken', () => {
    expect(createStudyFile(folder.path, 'Same', now)).toBe('same.chamberside');
    expect(createStudyFile(folder.path, 'Same', now)).toBe('same-2.chamberside');
    expect(listStudies(folder.path).map(({ file, name }) => [file, name])).toEqual([
      ['same-2.chamberside', 'Same'],
      ['same.chamberside', 'Same'],
    ]);
  });
});

describe('the studies of a folder', () => {
  it('are read without failing on what cannot be read', () => {
    createStudyFile(folder.path, 'Good', now);
    writeFileSync(join(folder.path, 'foreign.chamberside'), 'hello');
    writeFileSync(join(folder.path, 'notes.txt'), 'hello');
    mkdirSync(join(folder.path, 'folder.chamberside'));
    const newer = createStudyFile(folder.path, 'Newer', now);
    const plain = new Database(join(folder.path, newer));
    plain.pragma('user_version = 99');
    plain.close();
    const rows = listStudies(folder.path).map((row) => studyRowSchema.parse(row));
    expect(rows.map(({ file, failure }) => [file, failure?.code ?? null])).toEqual([
      ['folder.chamberside', expect.any(String) as string],
      ['foreign.chamberside', 'file-not-ours'],
      ['good.chamberside', null],
      ['newer.chamberside', 'file-newer'],
    ]);
    expect(rows[1]?.failure?.remedy).not.toBe('');
    expect(listStudies(join(folder.path, 'missing'))).toEqual([]);
  });

  it('show every trial with its standing', async () => {
    const path = join(folder.path, 'some.chamberside');
    const study = await openStudyForRecording({ path, create: { studyName: 'Some' }, hostId: host });
    for (const number of [1, 2]) {
      const trial = await study.createTrial(definition(study.identity.study, trialName(number)));
      for (let second = 0; second < 3; second += 1) recordSecond(trial, second);
      if (number === 1) await trial.seal();
      else await trial.abandon();
    }
    const cell = {
      exercise: 'walking',
      probe: 'ankle',
      dwellPosition: 1,
      windowPercent: 1,
      windowLowPercent: null,
      windowHighPercent: null,
      exercisePercent: null,
    };
    const cells = [
      { ...cell, flags: ['gap'] },
      { ...cell, flags: ['below-detection-limit'] },
    ];
    await study.storeAssessment({ trial: trialName(1), method, program: '0.1.0', cells, details: null });
    // While it is open for recording.
    const [row] = await computer.do('studies', { folder: folder.path });
    expect(row?.trials).toMatchObject([
      { trial: trialName(1), standing: 'assessed', cells: { all: 2, flagged: 1 } },
      { trial: trialName(2), standing: 'interrupted', cells: null },
    ]);
    expect(row?.trials[0]?.recordedSeconds).toBeGreaterThan(2);
    await study.close();
  });

  it.each([
    ['running', false, false, 'interrupted'],
    ['closed', false, false, 'closed'],
    ['closed', true, false, 'sealed'],
    ['closed', true, true, 'assessed'],
    [null, false, false, 'interrupted'],
  ] as const)('stand, in phase %s, sealed %s, assessed %s, as %s', (phase, sealed, assessed, standing) => {
    const seal = { at: now, head: '', count: 1, seal: 1 };
    expect(standingOf({ phase, sealed: sealed ? seal : null }, assessed)).toBe(standing);
  });
});

describe('samples of a recorded trial', () => {
  it('are found by time, and thinned away from the thread that asks', async () => {
    const path = join(folder.path, 'some.chamberside');
    const study = await openStudyForRecording({ path, create: { studyName: 'Some' }, hostId: host });
    const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
    for (let second = 0; second < 8; second += 1) recordSecond(trial, second);
    await trial.seal();
    await study.close();
    const whole = readTrial(path, trialName(1)).streams[0];
    const from = 2_500_000;
    const to = 5_250_137;
    const part = readStreamBetween(path, trialName(1), 0, from, to);
    const expected = [...(whole?.atMicroseconds ?? [])].filter((at) => at >= from && at < to);
    expect([...part.times]).toEqual(expected);
    expect(part.values).toHaveLength(expected.length);
    expect(readStreamBetween(path, trialName(1), 9, from, to).times).toHaveLength(0);
    const ask = { path, trial: trialName(1), stream: 0, fromMicroseconds: from, toMicroseconds: to, mostSamples: 10 };
    expect((await computer.do('history', ask)).times.length).toBeLessThanOrEqual(10);
    await expect(computer.do('history', { ...ask, path: `${path}x` })).rejects.toThrow(
      expect.objectContaining({ code: 'file-not-found' }),
    );
  });
});
