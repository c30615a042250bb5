import { readFileSync, readdirSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openLaboratory, type Person } from '../../src/host/store/laboratory.ts';
import { chambersideWithInput, temporaryFolder, type CommandOutcome } from '../support/command-line.ts';

let folder = temporaryFolder();
let file = '';
beforeEach(() => {
  folder = temporaryFolder();
  file = folder.file('laboratory.chamberlab');
});
afterEach(() => folder.clear());

/** The command with this on its standard input. */
const people = (pin: string, ...words: string[]): Promise<CommandOutcome> =>
  chambersideWithInput(pin, 'people', '--laboratory', file, ...words);

async function pinIsRight(code: string, pin: string): Promise<boolean> {
  const laboratory = openLaboratory(file);
  try {
    await laboratory.verifyPin(code, pin);
    return true;
  } catch {
    return false;
  } finally {
    laboratory.close();
  }
}

describe('the people of a laboratory', () => {
  it('are added, listed, given another PIN and retired', async () => {
    const added = await people(
      '4711\n',
      '--add',
      'anna',
      '--name',
      'Anna Z.',
      '--roles',
      'operator, reviewer',
      '--json',
    );
    expect(added).toMatchObject({ status: 0, stderr: '' });
    expect((JSON.parse(added.stdout) as { person: Person }).person).toMatchObject({
      code: 'anna',
      name: 'Anna Z.',
      roles: ['operator', 'reviewer'],
      active: true,
    });
    expect((await people('0815\n', '--add', 'ben', '--roles', 'technician')).stdout).toBe(
      'Registered ben as technician.\n',
    );
    const listed = JSON.parse((await people('', '--json')).stdout) as { people: Person[] };
    expect(listed.people.map(({ code, name }) => [code, name])).toEqual([
      ['anna', 'Anna Z.'],
      ['ben', 'ben'],
    ]);
    expect(await pinIsRight('anna', '4711')).toBe(true);

    expect((await people('123456\n', '--set-pin', 'anna')).stdout).toBe('The PIN of anna is set.\n');
    expect([await pinIsRight('anna', '4711'), await pinIsRight('anna', '123456')]).toEqual([false, true]);

    expect(await people('', '--retire', 'ben')).toMatchObject({ status: 0 });
    expect((await people('')).stdout).toMatch(/^ben +ben +technician +retired/m);
    expect(await pinIsRight('ben', '0815')).toBe(false);
    for (const action of ['--retire', '--set-pin']) {
      const again = await people('1111\n', action, 'ben');
      expect(again).toMatchObject({ status: 1, stdout: '' });
      expect(again.stderr).toMatch(/^person-not-found: /);
    }
    expect(readFileSync(file).includes('123456')).toBe(false);
    expect(readdirSync(folder.path)).toEqual(['laboratory.chamberlab']);
  });

  it('keep their codes: a taken one is refused and changes nothing', async () => {
    await people('4711\n', '--add', 'anna', '--roles', 'operator');
    const taken = await people('9999\n', '--add', 'anna', '--roles', 'reviewer');
    expect(taken.status).toBe(1);
    expect(taken.stderr).toMatch(/^person-exists: /);
    expect(await pinIsRight('anna', '4711')).toBe(true);
  });

  it.each([
    ['usage-bad-value', '12\n', ['--add', 'anna', '--roles', 'operator']],
    ['usage-bad-value', '12ab\n', ['--add', 'anna', '--roles', 'operator']],
    ['usage-bad-value', '', ['--add', 'anna', '--roles', 'operator']],
    ['usage-bad-value', '4711\n', ['--add', 'anna', '--roles', 'king']],
    ['usage-bad-value', '4711\n', ['--add', 'a b', '--roles', 'operator']],
    ['usage-bad-value', '4711\n', ['--add', 'anna', '--roles', '']],
    ['usage-unknown-option', '4711\n', ['--add', 'anna']],
    ['usage-unknown-option', '4711\n', ['--add', 'anna', '--roles', 'operator', '--pin', '4711']],
    ['usage-unknown-option', '4711\n', ['--add', 'anna', '--retire', 'ben']],
    ['usage-unknown-option', '4711\n', ['--retire', 'ben', '--name', 'Ben']],
  ])('%s with %j on standard input: %j, and no file is made', async (code, pin, words) => {
    const outcome = await people(pin, ...words);
    expect(outcome.status).toBe(2);
    expect(outcome.stderr).toMatch(new RegExp(`^${code}: `));
    expect(outcome.stderr).not.toMatch(/12ab|\n {4}at /);
    expect(readdirSync(folder.path)).toEqual([]);
  });

  it('of a laboratory that is not there are no people, and none is made to list them', async () => {
    const outcome = await people('');
    expect(outcome.status).toBe(1);
    expect(outcome.stderr).toMatch(/^file-not-found: /);
    expect(readdirSync(folder.path)).toEqual([]);
  });
});
