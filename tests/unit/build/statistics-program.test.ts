import { describe, expect, it } from 'vitest';
import type { Machine } from '../../../build/browser.mjs';
import { provideR } from '../../../build/statistics-program.mjs';

function machine(programs: string[], userId: number): Machine {
  return { environment: { PATH: '/usr/bin' }, userId, isExecutable: (path) => programs.includes(path) };
}
const mustNotRun = (): boolean => {
  throw new Error('nothing is to be run');
};

describe('R of the landing tier', () => {
  it('is taken where it is', () => {
    expect(provideR(machine(['/usr/bin/Rscript'], 1000), mustNotRun, () => undefined)).toBe(true);
  });

  it('is installed for root with apt, as Debian packages it', () => {
    const programs = ['/usr/bin/apt-get'];
    const ran: (readonly string[])[] = [];
    const run = (words: readonly string[]): boolean => {
      ran.push(words);
      programs.push('/usr/bin/Rscript');
      return true;
    };
    expect(provideR(machine(programs, 0), run, () => undefined)).toBe(true);
    expect(ran).toEqual([['apt-get', 'install', '-y', '--no-install-recommends', 'r-base-core']]);
  });

  it('is missed with words about it where it cannot be installed', () => {
    const said: string[] = [];
    expect(provideR(machine(['/usr/bin/apt-get'], 1000), mustNotRun, (text) => void said.push(text))).toBe(false);
    expect(said.join(' ')).toMatch(/apt-get install r-base-core/);
  });
});
