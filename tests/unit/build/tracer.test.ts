import { describe, expect, it } from 'vitest';
import type { Machine } from '../../../build/browser.mjs';
import { provideTracer } from '../../../build/tracer.mjs';

function machine(programs: string[], userId: number): Machine {
  return { environment: { PATH: '/usr/bin' }, userId, isExecutable: (path) => programs.includes(path) };
}
const mustNotRun = (): boolean => {
  throw new Error('nothing is to be run');
};

describe('the tracer of the landing tier', () => {
  it('is taken where it is', () => {
    expect(provideTracer(machine(['/usr/bin/strace'], 0), mustNotRun, () => undefined)).toBe(true);
  });

  it('is installed for root with apt, after fetching the lists when it needs them', () => {
    const programs = ['/usr/bin/apt-get'];
    const ran: string[] = [];
    const run = (words: readonly string[]): boolean => {
      ran.push(words[1] ?? '');
      if (ran.length === 3) programs.push('/usr/bin/strace');
      return ran.length > 1;
    };
    expect(provideTracer(machine(programs, 0), run, () => undefined)).toBe(true);
    expect(ran).toEqual(['install', 'update', 'install']);
  });

  it('is missed with words about it where it cannot be installed', () => {
    const said: string[] = [];
    const say = (text: string): void => void said.push(text);
    expect(provideTracer(machine(['/usr/bin/apt-get'], 1000), mustNotRun, say)).toBe(false);
    expect(provideTracer(machine([], 0), mustNotRun, say)).toBe(false);
    expect(provideTracer(machine(['/usr/bin/apt-get'], 0), () => true, say)).toBe(false);
    for (const text of [said[0], said[1], said.at(-1)]) expect(text).toMatch(/apt-get install strace/);
  });
});
