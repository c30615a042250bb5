import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { entries, nativePackages } from '../../../build/entries.mjs';

const root = join(import.meta.dirname, '../../..');
let folder = '';

interface Package {
  readonly version: string;
  readonly bin: Readonly<Record<string, string>>;
  readonly dependencies: Readonly<Record<string, string>>;
}
const description = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as Package;

beforeAll(() => {
  // Inside build/out, so that the native packages are found from there.
  mkdirSync(join(root, 'build/out'), { recursive: true });
  folder = mkdtempSync(join(root, 'build/out/bundle-'));
  execFileSync(process.execPath, [join(root, 'build/bundle.mjs'), folder]);
}, 60_000);

afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe('the bundle', () => {
  it.each(entries)('holds $bundle, made of $source, with its source map', ({ bundle }) => {
    expect(existsSync(join(folder, bundle))).toBe(true);
    expect(existsSync(join(folder, `${bundle}.map`))).toBe(true);
  });

  it('has one command, and package.json names it', () => {
    const commands = entries.filter(({ command }) => command).map(({ bundle }) => `build/out/${bundle}`);
    expect(commands).toEqual([description.bin['chamberside']]);
  });

  it.each(entries.filter(({ command }) => command))('$bundle can be started by name', ({ bundle }) => {
    expect(readFileSync(join(folder, bundle), 'utf8').split('\n')[0]).toBe('#!/usr/bin/env node');
    expect(statSync(join(folder, bundle)).mode & 0o111).toBe(0o111);
  });

  it('says the version of package.json and fails with 2 on wrong usage', () => {
    const command = join(folder, 'chamberside.js');
    const help = spawnSync(process.execPath, [command, '--help'], { encoding: 'utf8' });
    expect(help.status).toBe(0);
    expect(help.stdout).toContain(`chamberside ${description.version}`);
    expect(spawnSync(process.execPath, [command, 'no-such-command']).status).toBe(2);
  });

  it.each(nativePackages)('leaves %s outside, and package.json installs it', (name) => {
    expect(Object.keys(description.dependencies)).toContain(name);
  });
});
