import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import { parseOptions } from '../../../../src/host/cli/command.ts';
import { portsCommand } from '../../../../src/host/cli/ports.ts';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import { temporaryFolder } from '../../../support/command-line.ts';

async function run(...words: string[]): Promise<{ exit: number; lines: string[]; notes: string[] }> {
  const lines: string[] = [];
  const notes: string[] = [];
  const output = {
    interactive: false,
    line: (text: string) => void lines.push(text),
    note: (text: string) => void notes.push(text),
  };
  return { exit: await portsCommand.run(parseOptions(portsCommand, words), output), lines, notes };
}

describe('chamberside ports', () => {
  it('says what it writes, and what became of each port', async () => {
    const wanted = ['--kind', 'photometer', '--dialect', 'multimeter-scpi', '--json'];
    const { exit, lines, notes } = await run('--ask', '/dev/none-1,/dev/none-2', ...wanted);
    expect(exit).toBe(1);
    expect(notes).toEqual([
      String.raw`photometer multimeter-scpi: writing *IDN?\n, at 9600 baud, 1 s at most for each port.`,
    ]);
    expect(JSON.parse(lines.join(''))).toMatchObject({
      asked: [
        {
          name: 'photometer multimeter-scpi',
          answers: [
            { path: '/dev/none-1', answer: 'failed', told: null, detail: 'there is no port /dev/none-1' },
            { path: '/dev/none-2', answer: 'failed' },
          ],
        },
      ],
    });
  });

  it('asks for every instrument of a rig, at the speed of its line', async () => {
    const folder = temporaryFolder();
    const path = join(folder.path, 'laboratory');
    const laboratory = openLaboratory(path, { create: true });
    laboratory.put('rig', { ...demo.rig, name: 'Bench' });
    laboratory.connect('Bench', 'photometer', { kind: 'serial', path: '/dev/none', baudRate: 19_200 });
    laboratory.close();
    const { exit, lines } = await run('--ask', '/dev/none', '--laboratory', path, '--rig', 'Bench', '--json');
    const { asked } = JSON.parse(lines.join('')) as { asked: { name: string; ask: { baudRate: number } }[] };
    expect(exit).toBe(1);
    expect(asked.map(({ name }) => name)).toEqual(demo.rig.instruments.map(({ instrument }) => instrument));
    expect(asked[0]).toMatchObject({ name: 'photometer', ask: { baudRate: 19_200 } });
    await expect(run('--ask', '/dev/none', '--laboratory', path, '--rig', 'None')).rejects.toMatchObject({
      code: 'configuration-invalid',
    });
    folder.clear();
  });

  it('opens nothing unless it is asked to, and takes one way to say what is looked for', async () => {
    for (const words of [
      ['--kind', 'photometer'],
      ['--ask', '/dev/none', '--rig', 'Bench'],
      ['--ask', '/dev/none', '--laboratory', 'x', '--rig', 'Bench', '--kind', 'photometer'],
      ['--ask', '/dev/none,', '--kind', 'photometer', '--dialect', 'text-lines'],
    ]) {
      await expect(run(...words)).rejects.toMatchObject({ code: 'usage-unknown-option' });
    }
  });
});
