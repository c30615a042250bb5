import { writeFileSync } from 'node:fs';
import { chromium, type Browser } from 'playwright';
import { planBrowser, thisMachine } from '../../../build/browser.mjs';
import { quietWords } from '../../../src/host/window/browser-window.ts';

/** Path of the browser that the tests drive. @throws Error that says what to install. */
export function findBrowser(): string {
  const plan = planBrowser(thisMachine);
  if (plan.kind === 'found') return plan.path;
  throw new Error(plan.kind === 'missing' ? plan.say : 'There is no browser yet: npm test installs one.');
}

/**
 * A program that is the browser, started by a command of one's own.
 * @param path of the script that is made.
 * @param command takes the browser's path as its last word.
 */
export function wrapBrowser(path: string, command: (browser: string) => readonly string[]): string {
  const words = command(findBrowser()).map((word) => `'${word.replaceAll("'", `'\\''`)}'`);
  writeFileSync(path, `#!/bin/sh\nexec ${words.join(' ')} "$@"\n`, { mode: 0o755 });
  return path;
}

/** Starts it without a screen, and as quiet on the network as the program starts one. */
export function launchBrowser(executablePath = findBrowser()): Promise<Browser> {
  return chromium.launch({
    executablePath,
    headless: true,
    args: [
      ...(thisMachine.userId === 0 ? ['--no-sandbox'] : []),
      ...quietWords,
      ...['--no-first-run', '--no-default-browser-check', '--disable-domain-reliability', '--no-pings'],
      // A person presses a key before a trial; without it a browser notes every sound that it does not make.
      '--autoplay-policy=no-user-gesture-required',
    ],
  });
}
