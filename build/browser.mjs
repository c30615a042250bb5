import { spawnSync } from 'node:child_process';
import { accessSync, constants, statSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/** Browsers that the end-to-end tests can drive, by the name of their program, best first. */
const programs = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];

/** Names the browser of the tests; it then has to be there. */
export const browserVariable = 'CHAMBERSIDE_BROWSER';

/**
 * The machine, as far as it decides where a browser comes from.
 * @typedef {object} Machine
 * @property {Readonly<Record<string, string | undefined>>} environment
 * @property {number | null} userId null where users have no numbers
 * @property {(path: string) => boolean} isExecutable
 */

/**
 * What to do for a browser.
 * @typedef {{ kind: 'found', path: string } | { kind: 'install' } | { kind: 'missing', say: string }} Plan
 */

/** @type {Machine} */
export const thisMachine = {
  environment: process.env,
  userId: process.getuid?.() ?? null,
  isExecutable(path) {
    try {
      accessSync(path, constants.X_OK);
      return statSync(path).isFile();
    } catch {
      return false;
    }
  },
};

/**
 * The first of these programs on the search path.
 * @param {readonly string[]} names
 * @param {Machine} machine
 * @returns {string | null}
 */
export function onSearchPath(names, { environment, isExecutable }) {
  const folders = (environment['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '');
  for (const name of names) {
    const found = folders.map((folder) => join(folder, name)).find((path) => isExecutable(path));
    if (found !== undefined) return found;
  }
  return null;
}

const whatToDo = [
  "Install Chromium ('apt-get install chromium' as root on Debian)",
  `or name a browser of its kind in ${browserVariable}.`,
].join(' ');

/**
 * Where the browser of the end-to-end tests comes from. A named one is taken or missed, never replaced by another.
 * @param {Machine} machine
 * @returns {Plan}
 */
export function planBrowser(machine) {
  const named = machine.environment[browserVariable];
  if (named !== undefined && named !== '') {
    if (machine.isExecutable(named)) return { kind: 'found', path: named };
    return { kind: 'missing', say: `${browserVariable} names ${named}, which is no program. ${whatToDo}` };
  }
  const path = onSearchPath(programs, machine);
  if (path !== null) return { kind: 'found', path };
  if (machine.userId === 0 && onSearchPath(['apt-get'], machine) !== null) return { kind: 'install' };
  return { kind: 'missing', say: `The end-to-end tests need a browser, and none is on the search path. ${whatToDo}` };
}

/**
 * The browser's path, after installing Debian's where it is missing and that is possible; says so.
 * @param {Machine} [machine]
 * @param {(words: readonly string[]) => boolean} [run] runs a command and tells whether it succeeded
 * @param {(text: string) => void} [say]
 * @returns {string | null} null when there is none; it has been said what to do
 */
export function provideBrowser(machine = thisMachine, run = runCommand, say = console.log) {
  const plan = planBrowser(machine);
  if (plan.kind === 'found') return plan.path;
  if (plan.kind === 'missing') {
    say(plan.say);
    return null;
  }
  say("The end-to-end tests need a browser and none is here. Installing Debian's chromium, because this is root.");
  const install = ['apt-get', 'install', '-y', '--no-install-recommends', 'chromium'];
  // The lists of packages are often missing on a fresh machine, and often good enough where they are not.
  const installed = run(install) || (run(['apt-get', 'update']) && run(install));
  const after = installed ? planBrowser(machine) : plan;
  if (after.kind === 'found') return after.path;
  say(`Chromium could not be installed. ${whatToDo}`);
  return null;
}

/** @param {readonly string[]} words */
export function runCommand([program = '', ...words]) {
  const environment = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  return spawnSync(program, words, { stdio: 'inherit', env: environment }).status === 0;
}
