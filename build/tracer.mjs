import { onSearchPath, runCommand, thisMachine } from './browser.mjs';

/** @typedef {import('./browser.mjs').Machine} Machine */

const whatToDo = "Install strace ('apt-get install strace' as root on Debian); it is a program for Linux.";

/**
 * Sees to the program that shows which addresses other programs connect to: Debian's is installed where it is missing
 * and that is possible; says so.
 * @param {Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run] runs a command and tells whether it succeeded
 * @param {(text: string) => void} [say]
 * @returns {boolean} whether it is there; where not, it has been said what to do
 */
export function provideTracer(machine = thisMachine, run = runCommand, say = console.log) {
  const isThere = () => onSearchPath(['strace'], machine) !== null;
  if (isThere()) return true;
  if (machine.userId === 0 && onSearchPath(['apt-get'], machine) !== null) {
    say("A test watches connections with strace, and it is not here. Installing Debian's, because this is root.");
    const install = ['apt-get', 'install', '-y', '--no-install-recommends', 'strace'];
    // The lists of packages are often missing on a fresh machine, and often good enough where they are not.
    if ((run(install) || (run(['apt-get', 'update']) && run(install))) && isThere()) return true;
  }
  say(`A test watches connections with strace, and it is not here. ${whatToDo}`);
  return false;
}
