/**
 * Runs one tier of tests: `node build/run-tests.mjs TIER [runner options]`. Builds the program first, because some
 * tests run the command as a user would, and sees to the browser and the tracer of others; prints the runner's own
 * report, leaves a JSON report beside it, and ends with the totals. Exit status 0 only when every test on disk ran and
 * passed.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { browserVariable, provideBrowser } from './browser.mjs';
import { looseErrorsVariable } from './loose-errors.mjs';
import { provideModbusPeers } from './modbus-programs.mjs';
import { provideOtherClock } from './other-clock.mjs';
import { provideR } from './statistics-program.mjs';
import { looseErrorsPath, reportPath, root, testFileCount, tierNamed } from './tiers.mjs';
import { totalsOf } from './totals.mjs';
import { provideTracer } from './tracer.mjs';

const [name, ...options] = process.argv.slice(2);
const tier = tierNamed(name);
const report = reportPath(tier);
const looseErrors = looseErrorsPath(tier);
rmSync(report, { force: true });
rmSync(looseErrors, { force: true });
mkdirSync(dirname(report), { recursive: true });

/** @type {Record<string, string | undefined>} */
const environment = { ...process.env, [looseErrorsVariable]: looseErrors };

/** @param {string} file @param {readonly string[]} words */
const run = (file, words) => {
  const child = spawnSync(process.execPath, [join(root, file), ...words], {
    cwd: root,
    stdio: 'inherit',
    env: environment,
  });
  if (child.error !== undefined) console.error(child.error.message);
  return child.status ?? 1;
};

if (testFileCount(tier) === 0 && tier.mayBeEmpty) {
  console.log(`The ${tier.name} tier has no tests yet.`);
} else {
  const built = run('build/bundle.mjs', []);
  if (built !== 0) console.error('The program could not be built; tests that run it will say so.');
  const browser = provideBrowser();
  if (browser === null) console.error('There is no browser; tests that drive one will fail.');
  else environment[browserVariable] = browser;
  if (tier.needsTracer && !provideTracer()) console.error('There is no strace; the test that needs it will fail.');
  if (tier.needsOtherClock) provideOtherClock();
  if (tier.needsR && !provideR()) console.error('There is no R; the tests that need it will fail.');
  if (tier.needsModbusPeers && !provideModbusPeers()) {
    console.error('Modbus programs are missing; the tests that need them will fail.');
  }
  const reporters = ['default', 'json', './build/loose-errors.mjs'].map((name) => `--reporter=${name}`);
  reporters.push(`--outputFile.json=${report}`);
  const status = run('node_modules/vitest/vitest.mjs', ['run', '-c', tier.configuration, ...reporters, ...options]);
  process.exitCode = built === 0 && browser !== null && status === 0 ? 0 : 1;
  // A run that was asked for a part of the tier is judged by the runner alone.
  if (options.length === 0) {
    const totals = totalsOf(tier);
    for (const line of [...totals.failures, ...totals.complaints]) console.log(line);
    console.log(`${tier.name}: ${totals.passed} passed, ${totals.failed} failed`);
    if (totals.failed > 0) process.exitCode = 1;
    else if (status !== 0) console.log(`${tier.name}: yet the runner ended with ${status}; its output says why.`);
  }
}
