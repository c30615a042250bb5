import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Ajv from 'ajv';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { seriesJsonSchema } from '../../../../src/host/cli/series.ts';
import { createLaboratory, openLaboratory } from '../../../../src/host/store/laboratory.ts';
import { chambersideHere } from '../../../support/command-in-process.ts';
import { temporaryFolder } from '../../../support/store/trial.ts';

let folder = temporaryFolder();
let laboratory = '';
beforeEach(() => {
  folder = temporaryFolder();
  laboratory = join(folder.path, 'laboratory');
  createLaboratory(laboratory);
});
afterEach(() => folder.remove());

const own = { ...demo.series, name: 'Our day', source: 'Ours.' };

/** Writes a file of JSON into the folder. */
function given(name: string, content: unknown): string {
  const path = join(folder.path, name);
  writeFileSync(path, JSON.stringify(content));
  return path;
}
const take = (content: unknown) =>
  chambersideHere('series', 'import', '--laboratory', laboratory, '--file', given('given.json', content));

describe('chamberside series', () => {
  it('imports, lists, shows and exports; what is there is never overwritten', async () => {
    expect((await take({ ...own, version: 3 })).stdout).toBe('Kept: Our day, version 3.\n');
    expect((await take({ ...own, version: 3 })).stdout).toBe('There already: Our day, version 3.\n');
    expect((await take({ ...own, version: 3, source: 'Changed.' })).stdout).toBe('Kept: Our day, version 4.\n');
    const older = await take({ ...own, version: 2, source: 'Changed.' });
    expect(older.stdout).toBe('There already: Our day, version 4.\n');
    const listed = await chambersideHere('series', 'list', '--laboratory', laboratory);
    expect(listed.stdout).toMatch(/^Standing, walking, squatting +1 +3 +program, after a public text \(secondary\)$/m);
    expect(listed.stdout).toMatch(/^Our day +4 +10 +laboratory$/m);
    const file = join(folder.path, 'out.json');
    const of = ['--laboratory', laboratory, '--name', 'Our day', '--version', '3'];
    expect((await chambersideHere('series', 'export', ...of, '--out', file)).status).toBe(0);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual({ ...own, version: 3 });
    expect((await chambersideHere('series', 'export', ...of, '--out', file)).stderr).toContain('file-exists');
    const shown = await chambersideHere('series', 'show', ...of);
    expect(shown.stdout).toContain('Our day, version 3 (laboratory)');
    expect(shown.stdout).toMatch(/^March on the spot +30 +20 +110 +18\.0 +12\.\d +hood, chest/m);
    expect(shown.stdout).toContain('Nothing speaks against it.');
    // The copy that a trial of that version froze has the digest of the version, which is still there.
    const opened = openLaboratory(laboratory);
    expect(opened.get('series', 'Our day', 3)?.content).toEqual({ ...own, version: 3 });
    opened.close();
  });

  it.each([
    ['a member that nobody knows', { ...own, pauses: 3 }, /series: Unrecognized key: "pauses"/],
    ['a length that is none', { ...own, closing: { ...own.closing, zeroSeconds: -1 } }, /closing\.zeroSeconds: /],
    ['no exercise', { ...own, exercises: [] }, /exercises: /],
    [
      'a lead-in that takes all',
      { ...own, exercises: [{ ...own.exercises[0], leadInSeconds: 110 }] },
      /exercises\.0\.leadInSeconds: the lead-in/,
    ],
    ['the name of a template', demo.series, /never overwritten \(name: Coverall series/],
    ['a name that reads like one', { ...own, name: ' coverall  SERIES, ten blocks' }, /never overwritten \(name:  cov/],
    ['a version that is no count', { ...own, version: 1_000_001 }, /version: Too big/],
    ['a name of two lines', { ...own, name: 'Our\nday' }, /name: use one line, without control characters/],
    [
      'a text with a control character',
      { ...own, exercises: [{ ...own.exercises[0], instruction: 'March\u001b[2J' }] },
      /exercises\.0\.instruction: use one line/,
    ],
  ])('refuses %s, says where and what to do, and keeps nothing', async (_, content, words) => {
    const { status, stderr, stdout } = await take(content);
    expect([status, stdout]).toEqual([1, '']);
    expect(stderr).toMatch(words);
    expect(stderr).toMatch(/Correct the named fields; docs\/formats\/series\.md|Give yours another name/);
    const opened = openLaboratory(laboratory);
    expect(opened.list('series')).toEqual([]);
    opened.close();
  });

  it('shows neither of two that differ under one name and version, rather than one of them for the other', async () => {
    const opened = openLaboratory(laboratory);
    opened.put('series', { ...demo.series, source: 'Kept before it was a template.' });
    opened.close();
    const of = ['--laboratory', laboratory, '--name', demo.series.name];
    expect((await chambersideHere('series', 'show', ...of)).stderr).toContain('The laboratory keeps something else');
    expect((await chambersideHere('series', 'show', '--name', demo.series.name)).status).toBe(0);
  });

  it('says of a file what speaks against it, without keeping it', async () => {
    const split = { ...own, exercises: own.exercises.map((one) => ({ ...one, dwellsPerProbe: 3 })) };
    const { stdout, status } = await chambersideHere('series', 'show', '--file', given('split.json', split));
    expect(status).toBe(0);
    expect(stdout).toContain('! 150 dwells on a probe leave less than 3 s of usable air.');
    expect((await chambersideHere('series', 'show', '--out', 'x')).status).toBe(2);
    expect((await chambersideHere('series', 'show', '--name', 'Nobody’s')).stderr).toContain('There is no such series');
  });

  it('publishes the schema by which files are read', async () => {
    const path = join(import.meta.dirname, '../../../../docs/formats/series.schema.json');
    const published = readFileSync(path, 'utf8');
    expect((await chambersideHere('series', 'schema')).stdout).toBe(published);
    const valid = new Ajv({ unknownFormats: 'ignore' }).compile(seriesJsonSchema() as object);
    expect(valid(own), JSON.stringify(valid.errors)).toBe(true);
    expect(valid({ ...own, pauses: 3 })).toBe(false);
    expect(valid({ ...own, exercises: [] })).toBe(false);
  });
});
