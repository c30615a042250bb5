import { describe, expect, it } from 'vitest';
import { parseOptions } from '../../../../src/host/cli/command.ts';
import { portsCommand } from '../../../../src/host/cli/ports.ts';

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
