import { provideProgram } from './debian-program.mjs';

const programs = [
  // Its serial line is only recommended by its package, and its tests are about nothing else.
  {
    program: 'pymodbus.server',
    from: ['python3-pymodbus', 'python3-serial-asyncio'],
    purpose: 'Tests ask slaves of pymodbus',
  },
  { program: 'mbpoll', from: ['mbpoll'], purpose: 'Tests let mbpoll ask our slaves' },
];

/**
 * Sees to Modbus parties that are not ours: the library and the master that tests talk to.
 * @param {import('./browser.mjs').Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run]
 * @param {(text: string) => void} [say]
 */
export function provideModbusPeers(machine, run, say) {
  const whatToDo = (/** @type {readonly string[]} */ from) =>
    `Install it ('apt-get install ${from.join(' ')}' as root on Debian).`;
  // All of them, also after one is missing: what to do is said once for all.
  const there = programs.map((wanted) =>
    provideProgram({ ...wanted, whatToDo: whatToDo(wanted.from) }, machine, run, say),
  );
  return there.every((present) => present);
}
