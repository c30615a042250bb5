import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { scenarios } from '../../../../drivers/virtual-rig/index.ts';
import { parseRigProcessOptions } from '../../../../src/host/rig/rig-process-options.ts';
import { isChambersideError } from '../../../../src/model/error-code.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'chamberside-test-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

function codeOf(args: string[]): string {
  try {
    parseRigProcessOptions(args);
  } catch (error) {
    return isChambersideError(error) ? error.code : String(error);
  }
  return 'accepted';
}

describe('options of the rig process', () => {
  it('has a default for everything', () => {
    expect(parseRigProcessOptions([])).toEqual({
      wire: 'pty', scenario: scenarios.demo, seed: 1, truthFile: null, continueTruth: false,
      startedInside: null,
    });
    expect(parseRigProcessOptions(['--help'])).toBeNull();
  });

  it('takes what is given', () => {
    const options = parseRigProcessOptions([
      '--wire', 'tcp', '--scenario', 'sharp', '--seed', '0', '--truth', 'a.truth', '--continue',
      '--inside', '--exercise', 'crawl',
    ]);
    expect(options).toEqual({
      wire: 'tcp', scenario: scenarios.sharp, seed: 0, truthFile: 'a.truth', continueTruth: true,
      startedInside: { exercise: 'crawl' },
    });
    expect(parseRigProcessOptions(['--inside'])?.startedInside).toEqual({ exercise: null });
  });

  it('reads a scenario file', () => {
    const path = join(folder, 'own.json');
    writeFileSync(path, JSON.stringify({ ...scenarios.short, name: 'own' }));
    expect(parseRigProcessOptions(['--scenario', path])?.scenario).toEqual({ ...scenarios.short, name: 'own' });
    writeFileSync(path, '{"name": ');
    expect(codeOf(['--scenario', path])).toBe('configuration-invalid');
    writeFileSync(path, '{"name": "own"}');
    expect(codeOf(['--scenario', path])).toBe('configuration-invalid');
    expect(codeOf(['--scenario', join(folder, 'none.json')])).toBe('file-not-found');
  });

  it.each([
    [['--wire', 'usb'], 'usage-bad-value'],
    [['--seed=-1'], 'usage-bad-value'],
    [['--seed', '1.5'], 'usage-bad-value'],
    [['--seed', ''], 'usage-bad-value'],
    [['--seed', 'seven'], 'usage-bad-value'],
    [['--scenario', 'none'], 'usage-bad-value'],
    [['--exercise', 'crawl'], 'usage-bad-value'],
    [['--speed', '5'], 'usage-unknown-option'],
    [['loose'], 'usage-unknown-option'],
  ])('refuses %j', (args, code) => {
    expect(codeOf(args)).toBe(code);
  });
});
