import { provideProgram } from './debian-program.mjs';

/**
 * Sees to strace, which shows what addresses other programs connect to.
 * @param {import('./browser.mjs').Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run]
 * @param {(text: string) => void} [say]
 */
export function provideTracer(machine, run, say) {
  const wanted = {
    program: 'strace',
    from: 'strace',
    purpose: 'A test watches connections with strace',
    whatToDo: "Install strace ('apt-get install strace' as root on Debian); it is a program for Linux.",
  };
  return provideProgram(wanted, machine, run, say);
}
