import { readdirSync, readFileSync } from 'node:fs';
import { getPriority } from 'node:os';
import { afterAll, describe, expect, it } from 'vitest';
import { createComputer } from '../../../../src/host/compute/computer.ts';
import { giveWay } from '../../../../src/host/worker/give-way.ts';
import { temporaryFolder } from '../../../support/command-line.ts';

/** Rank of every thread of this process: field 19 of `stat` in Linux, counted behind the name in brackets. */
function ranksOfThreads(): Map<number, number> {
  const ranks = new Map<number, number>();
  for (const thread of readdirSync('/proc/self/task')) {
    const fields = readFileSync(`/proc/self/task/${thread}/stat`, 'utf8').split(') ').at(-1)?.split(' ') ?? [];
    ranks.set(Number(thread), Number(fields[16]));
  }
  return ranks;
}

describe('a thread that computes', () => {
  const folder = temporaryFolder();
  afterAll(() => folder.clear());

  it.each(['darwin', 'win32', 'freebsd'] as const)('is left as it is on %s, which ranks processes only', (name) => {
    const before = getPriority();
    expect(giveWay(name)).toBeNull();
    expect(getPriority()).toBe(before);
  });

  it('gives way to the thread that reads the ports, and is the only one that does', async () => {
    const computer = createComputer();
    const before = getPriority();
    await computer.do('studies', { folder: folder.path });
    expect(getPriority()).toBe(before);
    if (process.platform === 'linux') {
      const ranks = ranksOfThreads();
      expect(ranks.get(process.pid)).toBe(before);
      expect([...ranks.values()].filter((rank) => rank === Math.min(19, before + 10))).toHaveLength(1);
    }
    await computer.end();
  });
});
