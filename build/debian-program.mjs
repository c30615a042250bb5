import { onSearchPath, runCommand, thisMachine } from './browser.mjs';

/** @typedef {import('./browser.mjs').Machine} Machine */

/**
 * A program that a tier needs and no registry of ours has.
 * @typedef {object} Wanted
 * @property {string} program its name on the search path
 * @property {string | readonly string[]} from Debian's package, or all that it takes
 * @property {string} purpose sentence without its end: what a test does with it
 * @property {string} whatToDo where it cannot be installed
 */

/**
 * Sees to a program: Debian's is installed where it is missing and that is possible; says so.
 * @param {Wanted} wanted
 * @param {Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run] runs a command and tells whether it succeeded
 * @param {(text: string) => void} [say]
 * @returns {boolean} whether it is there; where not, it has been said what to do
 */
export function provideProgram(wanted, machine = thisMachine, run = runCommand, say = console.log) {
  const isThere = () => onSearchPath([wanted.program], machine) !== null;
  if (isThere()) return true;
  if (machine.userId === 0 && onSearchPath(['apt-get'], machine) !== null) {
    say(`${wanted.purpose}, and it is not here. Installing Debian's, because this is root.`);
    const install = ['apt-get', 'install', '-y', '--no-install-recommends', ...[wanted.from].flat()];
    // The lists of packages are often missing on a fresh machine, and often good enough where they are not.
    if ((run(install) || (run(['apt-get', 'update']) && run(install))) && isThere()) return true;
  }
  say(`${wanted.purpose}, and it is not here. ${wanted.whatToDo}`);
  return false;
}
