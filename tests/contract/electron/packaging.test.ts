import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { loadedPackages, makeDesktopFolder, withNeeded } from '../../../build/desktop-folder.mjs';
import configuration from '../../../build/electron-builder.mjs';
import { entries } from '../../../build/entries.mjs';

/** What the packager is given and told. That it packages well is not shown here: it needs the runtime. */
const root = join(import.meta.dirname, '../../..');
let folder = '';

beforeAll(() => {
  // Away from the checkout, whose packages would be found otherwise.
  folder = mkdtempSync(join(tmpdir(), 'chamberside-desktop-'));
  makeDesktopFolder(folder);
}, 60_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('the folder that is packaged', () => {
  it('begins with the rim, and holds every bundle, the screens and the licence', () => {
    const { main, type } = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')) as Record<string, string>;
    expect([main, type]).toEqual(['desktop.cjs', 'module']);
    for (const { bundle } of entries) expect(existsSync(join(folder, bundle))).toBe(true);
    for (const name of ['renderer', 'LICENSE']) expect(existsSync(join(folder, name))).toBe(true);
  });

  it('has the packages that the bundles load, with all that those need, and no others', () => {
    const needed = withNeeded(loadedPackages);
    for (const name of ['better-sqlite3', 'bindings', '@serialport/bindings-cpp', 'node-gyp-build']) {
      expect(needed).toContain(name);
      expect(existsSync(join(folder, 'node_modules', name, 'package.json'))).toBe(true);
    }
    expect(existsSync(join(folder, 'node_modules/react'))).toBe(false);
  });

  it('runs its host by itself, with the native part of SQLite where the rim says that it lies', () => {
    const main = readFileSync(join(root, 'electron/main.ts'), 'utf8');
    const sqlite = join(folder, /node_modules\/better-sqlite3\/[\w./]+\.node/.exec(main)?.[0] ?? 'none');
    expect(existsSync(sqlite)).toBe(true);
    const study = join(folder, 'trial.chamberside');
    const words = ['rehearse', '--scenario', 'short', '--study', study, '--json'];
    const child = spawnSync(process.execPath, [join(folder, 'chamberside.js'), ...words], {
      encoding: 'utf8',
      env: { ...process.env, CHAMBERSIDE_SQLITE: sqlite },
    });
    expect(child.stderr).toBe('');
    const { trialId } = JSON.parse(child.stdout) as { trialId: string };
    // The report loads what is not bundled and reads files of its own beside it.
    const out = join(folder, 'trial.pdf');
    const report = ['report', '--study', study, '--trial', trialId, '--out', out];
    const reporting = spawnSync(process.execPath, [join(folder, 'chamberside.js'), ...report], { encoding: 'utf8' });
    expect(reporting.stderr).not.toContain('internal');
    expect([reporting.status, readFileSync(out).subarray(0, 5).toString()]).toEqual([0, '%PDF-']);
  }, 60_000);
});

describe('the packager', () => {
  it('leaves what is native, and the host that loads it, outside the archive', () => {
    expect(configuration.asarUnpack).toEqual(['*.js', 'renderer/**', 'node_modules/**']);
  });

  it('hardens the runtime as far as the rig process allows, and puts the result nowhere', () => {
    expect(configuration.electronFuses).toMatchObject({
      enableNodeOptionsEnvironmentVariable: false,
      enableNodeCliInspectArguments: false,
      enableEmbeddedAsarIntegrityValidation: true,
      onlyLoadAppFromAsar: true,
      grantFileProtocolExtraPrivileges: false,
    });
    expect(configuration.publish).toBeNull();
    const { scripts } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
      scripts: Record<string, string>;
    };
    expect(scripts['package:desktop']).toContain('--publish never');
    // Its whole project is the copy: in the checkout it would replace what Node loads.
    expect(scripts['package:desktop']).toContain('--projectDir build/out/desktop-app');
  });
});
