import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runCommandLine } from '../../src/host/cli/main.ts';
import { errorCodes } from '../../src/model/error-code.ts';
import { chambersideHere as chamberside } from '../support/command-in-process.ts';
import { chamberside as chambersideProcess, temporaryFolder } from '../support/command-line.ts';

/** With `--json` whoever reads standard output gets an object in every case, also when nothing came of it. */
const folder = temporaryFolder();
beforeAll(() => {
  writeFileSync(folder.file('text'), 'exercise,probe\n');
});
afterAll(() => folder.clear());

interface Said {
  readonly error: { readonly code: string; readonly what: string; readonly where: string; readonly todo: string };
}

function saidOf(stdout: string): Said {
  expect(stdout.endsWith('\n')).toBe(true);
  expect(stdout.trimEnd()).not.toContain('\n');
  const said = JSON.parse(stdout) as Said;
  expect(Object.keys(said)).toEqual(['error']);
  expect(Object.keys(said.error)).toEqual(['code', 'what', 'where', 'todo']);
  for (const text of Object.values(said.error)) expect(text).not.toBe('');
  expect(Object.keys(errorCodes)).toContain(said.error.code);
  return said;
}

const wrongUsage: [string, string[]][] = [
  ['usage-unknown-command', ['measure', '--json']],
  ['usage-unknown-command', ['--json']],
  ['usage-unknown-option', ['rehearse', '--json', '--colour', 'red']],
  ['usage-unknown-option', ['verify', '--json']],
  ['usage-unknown-option', ['verify', '--study', '--json']],
  ['usage-unknown-option', ['verify', '--json=yes']],
  ['usage-unknown-option', ['verify', '--json', '--json']],
  ['usage-bad-value', ['rehearse', '--seed', '-1', '--json']],
  ['usage-bad-value', ['rehearse', '--scenario', 'nowhere', '--json']],
  ['usage-bad-value', ['start', '--virtual-rig', 'nowhere', '--json']],
  ['usage-bad-value', ['start', '--port', '0', '--json']],
  ['usage-bad-value', ['rehearse', '--study', `/tmp/${'a'.repeat(300)}.chamberside`, '--json']],
];

describe('the version', () => {
  it('is said as data where data are asked for', async () => {
    const outcome = await chamberside('--version', '--json');
    const plain = await chamberside('--version');
    expect(JSON.parse(outcome.stdout)).toEqual({ version: plain.stdout.trim() });
  });
});

describe('wrong usage', () => {
  it.each(wrongUsage)('is said as data, %s: %j', async (code, words) => {
    const outcome = await chamberside(...words);
    expect(outcome.status).toBe(2);
    expect(saidOf(outcome.stdout).error.code).toBe(code);
    expect(outcome.stderr).not.toBe('');
  });

  it.each(wrongUsage)('prints nothing on standard output without the option, %s: %j', async (_code, words) => {
    const plain = words.filter((word) => !word.startsWith('--json'));
    const outcome = await chamberside(...(plain.length === 0 ? ['measure'] : plain));
    // What was wrong with the option itself is gone with it; the rest is as wrong as before.
    expect(outcome.status).toBe(2);
    expect(outcome.stdout).toBe('');
  });
});

describe('what cannot be done', () => {
  it.each<[string, string, string[]]>([
    ['verify', 'file-not-found', ['--study', 'absent']],
    ['verify', 'file-not-ours', ['--study', 'text']],
    ['assess', 'file-not-found', ['--study', 'absent']],
    ['explain', 'file-not-found', ['--study', 'absent', '--exercise', 'march', '--probe', 'ankle']],
    ['report', 'file-not-found', ['--study', 'absent', '--trial', 't-000000000000', '--out', 'a.pdf']],
    ['replay', 'file-not-found', ['--study', 'absent']],
    ['response', 'file-not-found', ['--study', 'absent']],
    ['judge', 'file-not-found', ['--study', 'absent', '--requirement', 'iso-13982-1']],
    ['people', 'file-not-found', ['--laboratory', 'absent']],
    ['rehearse', 'file-not-found', ['--study', 'absent/absent']],
    ['rehearse', 'file-not-found', ['--study', 'absent', '--resume']],
    ['start', 'folder-unusable', ['--no-window', '--folder', 'text']],
  ])('is said as data by %s: %s', async (command, code, words) => {
    const here = words.map((word) => (/absent|text|a\.pdf/.test(word) ? folder.file(word) : word));
    const outcome = await chamberside(command, ...here, '--json');
    const { error } = saidOf(outcome.stdout);
    expect(error.code).toBe(code);
    expect(outcome.status).toBe(1);
    // The same in plain words beside it.
    expect(outcome.stderr).toContain(`${error.code}: ${error.what} (${error.where}). ${error.todo}`);
  });

  it('is said as data by the program as a process', async () => {
    const outcome = await chambersideProcess('verify', '--study', folder.file('absent'), '--json');
    expect(outcome.status).toBe(1);
    expect(saidOf(outcome.stdout).error).toMatchObject({ code: 'file-not-found', where: folder.file('absent') });
    expect(outcome.stderr).toContain('file-not-found: ');
  });
});

describe('a defect', () => {
  it('is said as data too, and as what it is', async () => {
    const lines: string[] = [];
    let refused = false;
    const status = await runCommandLine(['judge', '--json'], {
      line(text) {
        // Whatever goes wrong in a command that is none of our errors.
        if (!refused) {
          refused = true;
          throw new TypeError('broken');
        }
        lines.push(`${text}\n`);
      },
      note: () => undefined,
      interactive: false,
    });
    expect(status).toBe(1);
    expect(saidOf(lines.join('')).error).toEqual({
      code: 'internal',
      what: 'broken',
      where: 'chamberside judge',
      todo: 'Report this.',
    });
  });
});
