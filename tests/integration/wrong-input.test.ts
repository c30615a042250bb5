import { copyFileSync, mkdirSync, readdirSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAssessments } from '../../src/host/store/assessments.ts';
import { chambersideHere as chamberside, type PrintedOutcome } from '../support/command-in-process.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { measured, type PrintedCell, type PrintedRehearsal } from '../support/rehearsal.ts';
import { alter } from '../support/store/altered-study.ts';

/** What the command line says of things that it cannot use: what they are, where, and what to do. */
const folder = temporaryFolder();
const study = folder.file('study.chamberside');
let recorded: PrintedRehearsal;

beforeAll(async () => {
  mkdirSync(folder.file('folder'));
  symlinkSync('/dev/zero', folder.file('device'));
  writeFileSync(folder.file('empty'), '');
  writeFileSync(folder.file('text'), 'exercise,probe\n');
  recorded = await rehearse(study);
});
afterAll(() => folder.clear());

async function rehearse(path: string): Promise<PrintedRehearsal> {
  const { stdout } = await chamberside('rehearse', '--study', path, '--scenario', 'short', '--seed', '3', '--json');
  return JSON.parse(stdout) as PrintedRehearsal;
}

function says(outcome: PrintedOutcome, status: number, words: string): void {
  expect(outcome.stderr).toContain(words);
  expect(outcome.stderr).not.toMatch(/\n {4}at /);
  expect(outcome.status).toBe(status);
}

const commandsOnStudies = [
  ['verify', '--study'],
  ['assess', '--study'],
  ['rehearse', '--scenario', 'short', '--study'],
] as const;

describe.each(commandsOnStudies.map((words) => ({ name: words[0], words })))('$name', ({ words }) => {
  it('names a folder, and says to give a file in it', async () => {
    const path = folder.file('folder');
    says(
      await chamberside(...words, path),
      1,
      `file-not-ours: This is a folder, not a study file (${path}). Give the path of a study file in it.`,
    );
    expect(readdirSync(path)).toEqual([]);
  });

  it('names a device, and does not wait for what it has to say', async () => {
    // By a link, because a rehearsal makes its lock beside the study.
    const path = folder.file('device');
    says(await chamberside(...words, path), 1, `This is a device or a pipe, not a study file (${path})`);
  });

  it.each(['empty', 'text'])('names a file that is not a study: %s', async (name) => {
    const path = folder.file(name);
    says(await chamberside(...words, path), 1, `file-not-ours: This is not a study file of this program (${path})`);
  });

  it('names a path that leads through a file', async () => {
    says(await chamberside(...words, folder.file('text/x')), 1, 'file-not-found: ');
  });
});

describe('a laboratory file', () => {
  it('is not a folder', async () => {
    const path = folder.file('folder');
    says(await chamberside('people', '--laboratory', path), 1, 'This is a folder, not a laboratory file');
  });
});

describe('a code', () => {
  it.each([
    ['--subject', 'a/../b'],
    ['--subject', 'x'.repeat(21)],
    ['--subject', 'S 01'],
    ['--subject', '.S01'],
    ['--operator', 'anna\nberta'],
    ['--ensemble', 'y'.repeat(81)],
    ['--ensemble', 'A\u0007B'],
  ])('of the wrong form is refused before anything is made: %s %j', async (option, value) => {
    const outcome = await chamberside('rehearse', '--study', folder.file('never.chamberside'), option, value);
    says(outcome, 2, 'usage-bad-value: ');
    expect(outcome.stderr).toContain(option);
    expect(outcome.stderr.length).toBeLessThan(300);
    expect(readdirSync(folder.path)).not.toContain('never.chamberside');
  });
});

describe('a scenario', () => {
  it('that is none is answered with those there are', async () => {
    const outcome = await chamberside('rehearse', '--study', folder.file('never.chamberside'), '--scenario', 'text');
    says(outcome, 2, 'there is no scenario "text" (--scenario). Name one of demo, ');
    expect(outcome.stderr).toContain('or the path of a scenario file, such as ./mine.json');
  });
});

describe('a file that is given beside the study', () => {
  const given = [
    ['scenario', ['rehearse', '--study', folder.file('never.chamberside'), '--scenario']],
    ['requirement', ['judge', '--study', study, '--file']],
    ['requirement', ['compare', '--study', study, '--file']],
  ] as const;

  it.each(given)('is refused when it is a device, which would never end, or a folder: %s', async (what, words) => {
    const device = `${folder.path}/device`;
    says(
      await chamberside(...words, device),
      1,
      `file-not-ours: This is a device or a pipe, not a ${what} file (${device}). Give the path of a ${what} file.`,
    );
    says(await chamberside(...words, `${folder.path}/folder`), 1, `This is a folder, not a ${what} file`);
    says(await chamberside(...words, `${folder.path}/absent`), 1, `file-not-found: the ${what} file cannot be read`);
    expect(readdirSync(folder.path)).not.toContain('never.chamberside');
  });

  it.each(given)('is refused when it is larger than any such file: %s', async (what, words) => {
    const large = `${folder.path}/large`;
    writeFileSync(large, '');
    truncateSync(large, 2 ** 32);
    const expected = `file-not-ours: This is a file of 4294967296 bytes, not a ${what} file`;
    says(await chamberside(...words, large), 1, expected);
  });
});

describe('a stored assessment whose flags cannot be read', () => {
  const damaged = folder.file('damaged.chamberside');
  const commands = [
    ['assess', '--dry'],
    ['explain', '--exercise', 'march', '--probe', 'hood'],
    ['replay'],
    ['response'],
    ['export', '--out', folder.file('exported')],
    ['judge', '--requirement', 'iso-13982-1'],
    ['compare'],
  ];

  it.each(commands)(
    'is damage to the file, said by %s',
    async (...words) => {
      for (const flags of ['[\0', '{}', '[1]']) {
        copyFileSync(study, damaged);
        alter(damaged, (file) => file.prepare('UPDATE cell SET flags = ? WHERE position = 1').run(flags));
        const outcome = await chamberside(...words, '--study', damaged, '--json');
        says(outcome, 1, 'file-damaged: the flags of assessment a-');
        expect(JSON.parse(outcome.stdout)).toMatchObject({ error: { code: 'file-damaged', where: damaged } });
      }
    },
  );
});

describe('a record whose parts are JSON but not of their form', () => {
  const altered = folder.file('altered.chamberside');
  const explain = ['explain', '--exercise', 'march', '--probe', 'hood'];
  it.each<[string, string, string[]]>([
    ['the frozen rig', "UPDATE frozen SET json = '{}' WHERE part = 'rig'", ['replay']],
    ['the frozen method', "UPDATE frozen SET json = '{}' WHERE part = 'method'", ['assess', '--dry']],
    ['an event', `UPDATE event SET json = '{"kind":"dwell-began"}' WHERE kind = 'dwell-began'`, explain],
    ['the assessment', "UPDATE assessment SET json = '{}'", explain],
    ['the assessment', "UPDATE assessment SET json = '{}'", ['export', '--out', folder.file('not-exported')]],
  ])('is damage to the file, and said of %s: %s', async (what, statement, words) => {
    copyFileSync(study, altered);
    alter(altered, (file) => file.exec(statement));
    const outcome = await chamberside(...words, '--study', altered, '--json');
    says(outcome, 1, `file-damaged: ${what} is not what it should be: `);
    expect(JSON.parse(outcome.stdout)).toMatchObject({ error: { code: 'file-damaged', where: altered } });
  });
});

describe('a trial that is not sealed', () => {
  const unsealed = folder.file('unsealed.chamberside');
  let trial = '';

  beforeAll(async () => {
    ({ trialId: trial } = await rehearse(unsealed));
    // Complete but for its end: every cell has a value, so only the missing seal speaks against it.
    // As after a kill between its last second and its seal.
    const unseal = 'DELETE FROM seal; UPDATE study SET seal_count = 0, seal_head = genesis';
    alter(unsealed, (file) => file.exec(`${unseal}; DELETE FROM cell; DELETE FROM assessment`));
  });

  it('is computed but is no result: exit status, standard error and JSON say so, and nothing is stored', async () => {
    const outcome = await chamberside('assess', '--study', unsealed, '--json');
    says(outcome, 1, 'THE TRIAL IS NOT SEALED');
    expect(outcome.stderr).toContain(`chamberside rehearse --resume --study ${unsealed}`);
    const printed = JSON.parse(outcome.stdout) as {
      sealed: boolean;
      remedy: string | null;
      assessmentId: string | null;
      cells: PrintedCell[];
    };
    expect(printed).toMatchObject({ sealed: false, assessmentId: null });
    expect(printed.remedy).toContain('rehearse --resume');
    expect(measured(printed.cells)).toEqual(measured(recorded.cells));
    expect(listAssessments(unsealed)).toEqual([]);
  });

  it('goes on with no other scenario and no other seed than its own', async () => {
    const resume = ['rehearse', '--resume', '--study', unsealed] as const;
    says(
      await chamberside(...resume, '--scenario', 'demo'),
      2,
      'the trial to go on with was begun with scenario short, not demo (--scenario). Leave --scenario out.',
    );
    says(await chamberside(...resume, '--seed', '4'), 2, 'begun with seed 3, not 4 (--seed). Leave --seed out.');
    const listed = await chamberside('assess', '--study', unsealed, '--trial', 't-000000000000');
    expect(listed.stderr).toContain(`  ${trial}  not sealed`);
  });

  it('is told from one that is sealed', async () => {
    const outcome = await chamberside('assess', '--study', study, '--json');
    expect(outcome.status).toBe(0);
    expect(outcome.stderr).not.toContain('NOT SEALED');
    expect(JSON.parse(outcome.stdout)).toMatchObject({ sealed: true, remedy: null, stateBefore: 'assessed' });
  });
});

describe('help', () => {
  it.each([['-h'], ['--help'], ['help']])('%s lists the commands', async (word) => {
    const outcome = await chamberside(word);
    expect(outcome.status).toBe(0);
    expect(outcome.stdout).toContain('usage: npx --no-install chamberside COMMAND');
  });

  it('of a command by name', async () => {
    const outcome = await chamberside('help', 'verify');
    expect(outcome.status).toBe(0);
    expect(outcome.stdout).toContain('chamberside verify: ');
  });
});
