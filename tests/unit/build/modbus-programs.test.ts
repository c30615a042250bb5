import { describe, expect, it } from 'vitest';
import type { Machine } from '../../../build/browser.mjs';
import { provideModbusPeers } from '../../../build/modbus-programs.mjs';

const both = ['/usr/bin/pymodbus.server', '/usr/bin/mbpoll'];
function machine(programs: string[], userId: number): Machine {
  return { environment: { PATH: '/usr/bin' }, userId, isExecutable: (path) => programs.includes(path) };
}
const mustNotRun = (): boolean => {
  throw new Error('nothing is to be run');
};

describe('Modbus programs of the landing tier', () => {
  it('are taken where they are', () => {
    expect(provideModbusPeers(machine(both, 1000), mustNotRun, () => undefined)).toBe(true);
  });

  it('are installed for root with apt, those that are missing', () => {
    const programs = ['/usr/bin/apt-get', '/usr/bin/mbpoll'];
    const ran: (readonly string[])[] = [];
    const run = (words: readonly string[]): boolean => {
      ran.push(words);
      programs.push('/usr/bin/pymodbus.server');
      return true;
    };
    expect(provideModbusPeers(machine(programs, 0), run, () => undefined)).toBe(true);
    const packages = ['python3-pymodbus', 'python3-serial-asyncio'];
    expect(ran).toEqual([['apt-get', 'install', '-y', '--no-install-recommends', ...packages]]);
  });

  it('are each missed with words about it where they cannot be installed', () => {
    const said: string[] = [];
    expect(provideModbusPeers(machine([], 1000), mustNotRun, (text) => said.push(text))).toBe(false);
    expect(said.join(' ')).toContain('apt-get install python3-pymodbus');
    expect(said.join(' ')).toContain('apt-get install mbpoll');
  });
});
