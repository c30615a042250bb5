import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { copyFileSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runCommandLine } from '../../src/host/cli/main.ts';
import { listAssessments } from '../../src/host/store/assessments.ts';
import { listUnfinishedTrials, readTrialSummary } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { chambersideWords, temporaryFolder } from '../support/command-line.ts';
import type { PrintedRehearsal } from '../support/rehearsal.ts';
import { alter, makeStudy } from '../support/store/altered-study.ts';

interface PrintedReport {
  readonly file: string;
  readonly bytes: number;
  readonly assessment: string;
  readonly virtual: boolean;
  readonly documentDigest: string;
}

const folder = temporaryFolder();
const study = folder.file('study.chamberside');
const formats = ['html', 'pdf'] as const;
let done: PrintedRehearsal;

/** One command line in this process. */
async function run(...words: string[]): Promise<{ status: number; stdout: string; stderr: string }> {
  const said = { stdout: '', stderr: '' };
  const status = await runCommandLine(words, {
    line: (text) => void (said.stdout += `${text}\n`),
    note: (text) => void (said.stderr += `${text}\n`),
    interactive: false,
  });
  return { status, ...said };
}

beforeAll(async () => {
  const ensemble = 'Overall <b>A</b> & co';
  const rehearsed = await run(
    ...['rehearse', '--study', study, '--scenario', 'short', '--seed', '3', '--ensemble', ensemble, '--json'],
  );
  expect(rehearsed.status).toBe(0);
  done = JSON.parse(rehearsed.stdout) as PrintedRehearsal;
}, 120_000);
afterAll(() => folder.clear());

const digestOf = (file: string): string => createHash('sha256').update(readFileSync(file)).digest('hex');
async function report(out: string, ...more: string[]): Promise<PrintedReport> {
  const made = await run('report', '--study', study, '--trial', done.trialId, '--out', out, '--json', ...more);
  expect(made).toMatchObject({ status: 0, stderr: '' });
  return JSON.parse(made.stdout) as PrintedReport;
}

describe.each(formats)('a report as %s', (format) => {
  it(
    'is the same bytes again, in another place on earth, from a copy without the truth, and leaves the study as ' +
      'it was',
    async () => {
      const before = digestOf(study);
      const first = folder.file(`one.${format}`);
      const printed = await report(first);
      expect(printed).toMatchObject({ file: first, virtual: true, bytes: readFileSync(first).length });
      expect(existsSync(done.truthFile)).toBe(true);
      const truth = readFileSync(done.truthFile);
      rmSync(done.truthFile);
      try {
        const second = folder.file(`two.${format}`);
        const words = chambersideWords(['report', '--study', study, '--trial', done.trialId, '--out', second]);
        const elsewhere = { ...process.env, TZ: 'Pacific/Kiritimati', LANG: 'de_DE.UTF-8', LC_ALL: 'de_DE.UTF-8' };
        expect(spawnSync(process.execPath, words, { env: elsewhere }).status).toBe(0);
        expect(digestOf(second)).toBe(digestOf(first));
      } finally {
        writeFileSync(done.truthFile, truth);
      }
      expect(digestOf(study)).toBe(before);
    },
  );

  it('never writes over a file unless it is told to, and leaves no draft', async () => {
    const out = folder.file(`kept.${format}`);
    writeFileSync(out, 'mine');
    const refused = await run('report', '--study', study, '--trial', done.trialId, '--out', out);
    expect(refused.status).toBe(1);
    expect(refused.stderr).toMatch(/^file-exists: The file exists already .*--replace/);
    expect(readFileSync(out, 'utf8')).toBe('mine');
    const long = folder.file(`${'a'.repeat(300)}.${format}`);
    const tooLong = await run('report', '--study', study, '--trial', done.trialId, '--out', long);
    expect([tooLong.status, tooLong.stderr]).toEqual([2, expect.stringMatching(/^usage-bad-value: .* too long/)]);
    await report(out, '--replace');
    expect(readFileSync(out).length).toBeGreaterThan(10_000);
    expect(readdirSync(folder.path).filter((name) => name.includes('draft'))).toEqual([]);
  });

  it('prints the heads that verify prints', async () => {
    const out = folder.file(`heads.${format}`);
    await report(out);
    expect(verify(study).trials[0]?.head).toBe(readTrialSummary(study, done.trialId).sealed?.head);
    if (format === 'html') {
      const html = readFileSync(out, 'utf8');
      for (const head of [verify(study).trials[0]?.head, verify(study).sealHead]) expect(html).toContain(head);
      expect(html).toContain('Overall &lt;b&gt;A&lt;/b&gt; &amp; co');
    }
  });
});

describe('a report of a chosen assessment', () => {
  it('is of that one, the newest otherwise', async () => {
    await run('assess', '--study', study, '--trial', done.trialId);
    const [older, newer] = listAssessments(study, done.trialId).map(({ assessment }) => assessment);
    expect((await report(folder.file('newest.html'))).assessment).toBe(newer);
    expect((await report(folder.file('older.html'), '--assessment', older ?? '')).assessment).toBe(older);
    const unknown = await run(
      ...['report', '--study', study, '--trial', done.trialId, '--out', folder.file('no.html')],
      ...['--assessment', 'a-000000000000'],
    );
    expect(unknown.status).toBe(1);
    expect(unknown.stderr).toContain(`Choose one of: 1 (${older}), 2 (${newer})`);
  });
});

describe('a report is refused', () => {
  const refuse = async (
    study_: string,
    trial: string,
    out: string,
  ): Promise<{ status: number | null; stderr: string }> => {
    const outcome = await run('report', '--study', study_, '--trial', trial, '--out', out);
    expect(existsSync(out)).toBe(false);
    return outcome;
  };

  it('of a trial whose recording ended before it was sealed', async () => {
    const cut = folder.file('cut.chamberside');
    await makeStudy(cut);
    const [left] = listUnfinishedTrials(cut);
    const { status, stderr } = await refuse(cut, left?.trial ?? '', folder.file('cut.html'));
    expect(status).toBe(1);
    expect(stderr).toMatch(
      /^trial-not-finished: Trial t-[0-9a-z]{12} is not sealed: it was \w+ when its recording ended/,
    );
    expect(stderr).toContain('Only a sealed trial can be reported.');
  });

  it('of a trial whose seal was taken away, which is not merely unsealed', async () => {
    const robbed = folder.file('robbed.chamberside');
    copyFileSync(study, robbed);
    alter(robbed, (file) => file.exec('DELETE FROM seal'));
    const { status, stderr } = await refuse(robbed, done.trialId, folder.file('robbed.html'));
    expect(status).toBe(1);
    expect(stderr).toMatch(/^file-damaged: This trial is not what was recorded/);
  });

  it('into a folder, with or without --replace', async () => {
    const inTheWay = folder.file('folder.html');
    mkdirSync(inTheWay);
    for (const more of [[], ['--replace']]) {
      const words = ['report', '--study', study, '--trial', done.trialId, '--out', inTheWay, ...more];
      const { status, stderr } = await run(...words);
      expect([status, stderr.includes('This is a folder')]).toEqual([1, true]);
    }
  });

  it('of a trial that was sealed and not assessed, with the command that assesses it', async () => {
    const fresh = folder.file('fresh.chamberside');
    copyFileSync(study, fresh);
    alter(fresh, (file) => file.exec('DELETE FROM cell; DELETE FROM assessment'));
    const { status, stderr } = await refuse(fresh, done.trialId, folder.file('fresh.html'));
    expect(status).toBe(1);
    const command = `npx --no-install chamberside assess --study ${fresh} --trial ${done.trialId}`;
    expect(stderr).toContain(`Assess it first: ${command}`);
  });

  it.each([
    ['an event', `UPDATE event SET json = replace(json, '"complete":true', '"complete":false')`],
    ['a reading', 'UPDATE chunk SET blob = zeroblob(length(blob)) WHERE stream = 0 AND link = 40'],
    ['a frozen rig', `UPDATE frozen SET json = replace(json, 'Hood', 'Mask') WHERE part = 'rig'`],
    ['a seal', `UPDATE seal SET sealed_at = '2020-01-01T00:00:00.000Z'`],
    ['an assessed value', 'UPDATE cell SET window_percent = window_percent / 2'],
  ])('of a trial with %s that is not what was sealed', async (_, sql) => {
    const altered = folder.file('altered.chamberside');
    copyFileSync(study, altered);
    alter(altered, (file) => file.exec(sql));
    const { status, stderr } = await refuse(altered, done.trialId, folder.file('altered.html'));
    expect(status).toBe(1);
    expect(stderr).toMatch(/^file-damaged: This trial is not what was recorded, and cannot be reported\./);
  });

  it('of what is not there, with what is', async () => {
    const unknown = await refuse(study, 't-000000000000', folder.file('unknown.html'));
    expect(unknown.status).toBe(1);
    expect(unknown.stderr).toMatch(/^trial-not-found: .*Trials of the study:\n {2}t-/);
    const noStudy = await refuse(folder.file('none.chamberside'), done.trialId, folder.file('none.html'));
    expect(noStudy.stderr).toMatch(/^file-not-found/);
    const noFolder = await refuse(study, done.trialId, folder.file('nowhere/report.html'));
    expect(noFolder.stderr).toMatch(/^file-not-found: The folder is not there/);
  });

  it('into a file of no known kind, as wrong usage', async () => {
    const { status, stderr } = await refuse(study, done.trialId, folder.file('report.docx'));
    expect(status).toBe(2);
    expect(stderr).toContain('End it in ');
  });
});
