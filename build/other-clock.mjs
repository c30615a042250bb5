import { provideProgram } from './debian-program.mjs';

/**
 * Sees to faketime, under which a program's wall clock can be set while that of the machine is left alone.
 * @param {import('./browser.mjs').Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run]
 * @param {(text: string) => void} [say]
 */
export function provideOtherClock(machine, run, say) {
  const wanted = {
    program: 'faketime',
    from: 'faketime',
    purpose: 'The wall clock of the program is set with faketime',
    whatToDo: "Install faketime ('apt-get install faketime' as root on Debian); it is a program for Linux.",
  };
  return provideProgram(wanted, machine, run, say);
}
