import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import { temporaryFolder } from '../../../support/command-line.ts';
import { chambersideHere } from '../../../support/command-in-process.ts';
import { rig } from '../../../support/store/trial.ts';

const folder = temporaryFolder();
let laboratory = '';
beforeAll(() => {
  laboratory = join(folder.path, 'laboratory');
  const opened = openLaboratory(laboratory, { create: true });
  const commonTransitSeconds = { value: 0.75, standardUncertainty: 0.02 };
  opened.put('rig', { ...rig, version: 1 });
  opened.put('rig', { ...rig, version: 2, commonTransitSeconds });
  opened.put('rig', { ...rig, version: 5, commonTransitSeconds });
  opened.close();
});
afterAll(() => folder.clear());

const of = (word: string, ...more: string[]) =>
  chambersideHere('rig', word, '--laboratory', laboratory, ...more);

describe('chamberside rig', () => {
  it('lists rigs and versions, and says what changed between two, or in the last change', async () => {
    expect((await of('list')).stdout).toContain(rig.name);
    const versions = await of('versions', '--name', rig.name, '--json');
    expect(JSON.parse(versions.stdout)).toMatchObject({ versions: [{ version: 5 }, { version: 2 }, { version: 1 }] });
    const last = await of('diff', '--name', rig.name);
    expect([last.status, last.stdout.trim()]).toEqual([0, `${rig.name}, version 2 → 5: nothing differs.`]);
    const { value, standardUncertainty: u } = rig.commonTransitSeconds;
    const found = await of('diff', '--name', rig.name, '--from', '1', '--to', '5');
    const row = found.stdout.split('\n').find((line) => line.includes('Transit from the valve'));
    expect(row?.replace(/ +/g, ' ')).toContain(`photometer ${value} s, u = ${u} s 0.75 s, u = 0.02 s`);
    const json = await of('diff', '--name', rig.name, '--from', '1', '--to', '5', '--json');
    expect(JSON.parse(json.stdout)).toMatchObject({ from: 1, to: 5, changes: [{ after: '0.75 s, u = 0.02 s' }] });
  });

  it('refuses what is not there, what belongs to another word, and a version that is not what was stored', async () => {
    expect((await of('diff', '--name', 'other')).stderr).toContain('the laboratory has no rig other');
    expect((await of('diff', '--name', rig.name, '--to', '1')).stderr).toContain('there is no version before 1');
    expect((await of('diff', '--name', rig.name, '--from', '3')).stderr).toContain('no such version');
    expect((await of('list', '--name', rig.name)).stderr).toContain('rig list takes no --name');
    const plain = new Database(laboratory);
    plain.exec('DROP TRIGGER document_update');
    plain.exec(`UPDATE document SET json = replace(json, '0.75', '0.76') WHERE version = 2`);
    plain.close();
    const altered = await of('diff', '--name', rig.name, '--from', '1', '--to', '2');
    expect([altered.status, altered.stderr.includes('The version is not what was stored')]).toEqual([1, true]);
  });
});
