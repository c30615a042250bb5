import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { parseOptions } from '../../../../src/host/cli/command.ts';
import { instrumentsCommand } from '../../../../src/host/cli/instruments.ts';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import { rig, temporaryFolder } from '../../../support/store/trial.ts';

let folder = temporaryFolder();
let path = '';
beforeEach(async () => {
  folder = temporaryFolder();
  path = join(folder.path, 'laboratory');
  const laboratory = openLaboratory(path, { create: true });
  await laboratory.addPerson({ code: 'tom', name: 'Tom', roles: ['technician'], pin: '4711' });
  await laboratory.addPerson({ code: 'anna', name: 'Anna', roles: ['operator'], pin: '4711' });
  laboratory.put('rig', rig);
  laboratory.close();
});
afterEach(() => folder.remove());

/** What the command prints; the PIN is what `pin` says. */
async function run(pin: string, ...words: string[]): Promise<{ status: number; text: string }> {
  const command = instrumentsCommand(() => Promise.resolve(pin));
  const said: string[] = [];
  const say = (line: string): void => void said.push(line);
  const status = await command.run(parseOptions(command, ['--laboratory', path, ...words]), {
    ...{ line: say, note: say, interactive: false },
  });
  return { status, text: said.join('\n') };
}
const instruments = (...words: string[]): ReturnType<typeof run> => run('4711', ...words);
const refusal = (code: string): unknown => expect.objectContaining({ code });

const tom = ['--person', 'tom'];
const photometer = [...['--add', 'PH-1', '--kind', 'photometer'], ...['--maker', 'a', '--model', 'b', '--serial', '4']];
const certificate = (number: string, validUntil: string): string[] => [
  ...['--certificate', 'PH-1', '--number', number, '--issuer', 'Calibration laboratory', '--quantity', 'linearity'],
  ...['--value', '1.004', '--expanded', '0.02', '--coverage-factor', '2'],
  ...['--issued', '2020-01-10', '--valid-until', validUntil],
];

describe('chamberside instruments', () => {
  it('adds, certifies, places, lists, withdraws, tells the history and gives files back', async () => {
    expect((await instruments()).text).toContain('The register is empty');
    const attached = join(folder.path, 'C-17.pdf');
    writeFileSync(attached, '%PDF-1.7 certificate');
    expect(await instruments(...photometer, ...tom)).toEqual({ status: 0, text: 'Put down as record 1.' });
    expect((await instruments()).text).toMatch(/PH-1 .*MISSING$/m);
    await instruments(...certificate('C-17', '2021-01-09'), '--coverage', '95.45', '--file', attached, ...tom);
    expect((await instruments()).text).toMatch(/C-17 .*U 0\.02 \(k 2, 95\.45 %\) .*2021-01-09 +EXPIRED$/m);
    await instruments(...certificate('C-18', '2099-01-09'), ...tom);
    const placing = ['--place', 'PH-1', '--rig', rig.name, '--instrument', rig.photometer];
    const placed = await instruments(...placing, ...tom, '--json');
    expect(JSON.parse(placed.text)).toMatchObject({ record: 4, entry: { at: { name: rig.photometer } } });
    expect((await instruments()).text).toMatch(/instrument photometer +C-18 .*2099-01-09 +valid$/m);

    await instruments('--withdraw', '3', '--reason', 'of another one', ...tom);
    const listed = JSON.parse((await instruments('--json')).text) as { instruments: unknown[]; altered: number[] };
    expect(listed).toMatchObject({
      altered: [],
      instruments: [{ instrument: 'PH-1', standing: [{ standing: 'expired', kept: { record: 2 } }] }],
    });
    const told = (await instruments('--history', 'PH-1')).text.split('\n');
    expect(told).toHaveLength(7);
    expect(told[6]).toMatch(/^ +5 .* tom +certificate of record 3 withdrawn: of another one$/);

    const out = join(folder.path, 'out.pdf');
    expect((await instruments('--fetch', '2', '--out', out)).text).toContain('application/pdf, 20 bytes, SHA-256 ');
    expect(readFileSync(out, 'utf8')).toBe('%PDF-1.7 certificate');
    await expect(instruments('--fetch', '2', '--out', out)).rejects.toThrow(refusal('file-exists'));
    await expect(instruments('--fetch', '3', '--out', join(folder.path, 'no'))).rejects.toThrow(
      refusal('file-not-found'),
    );
    await instruments('--retire', 'PH-1', '--reason', 'sold', ...tom);
    expect((await instruments()).text).toContain('Retired: PH-1.');
  });

  it('takes entries from technicians who know their PIN, and nothing that is half said', async () => {
    await expect(run('4712', ...photometer, ...tom)).rejects.toThrow(refusal('pin-wrong'));
    await expect(instruments(...photometer, '--person', 'anna')).rejects.toThrow(refusal('role-missing'));
    await expect(instruments(...photometer)).rejects.toThrow(refusal('usage-unknown-option'));
    await expect(instruments(...photometer, '--value', '3', ...tom)).rejects.toThrow(refusal('usage-unknown-option'));
    await expect(instruments(...tom)).rejects.toThrow(refusal('usage-unknown-option'));
    await instruments(...photometer, ...tom);
    const whole = certificate('C-17', '2099-01-01');
    for (const name of ['--value', '--expanded', '--coverage-factor', '--valid-until', '--quantity']) {
      const at = whole.indexOf(name);
      const lacking = [...whole.slice(0, at), ...whole.slice(at + 2)];
      await expect(instruments(...lacking, ...tom)).rejects.toThrow(refusal('usage-unknown-option'));
    }
    await expect(instruments(...whole, '--coverage', '200', ...tom)).rejects.toThrow(refusal('usage-bad-value'));
    await expect(instruments('--place', 'PH-1', '--rig', rig.name, ...tom)).rejects.toThrow();
    await expect(instruments('--history', 'PH-2')).rejects.toThrow(refusal('instrument-not-found'));
    expect((await instruments('--history', 'PH-1')).text.split('\n')).toHaveLength(3);
  });
});
