/**
 * Everything CI runs except the tests, all of it even when something fails: `node build/check.mjs [NAME…]`. The exit
 * status is the number of checks that failed.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { root } from './tiers.mjs';

/**
 * Name of each check, the program that runs it, its arguments.
 * @type {readonly [string, string, readonly string[]][]}
 */
const checks = [
  ['typecheck', 'node_modules/typescript/bin/tsc', ['-b']],
  ['lint', 'node_modules/eslint/bin/eslint.js', ['-c', 'build/eslint.config.mjs', '.']],
  [
    'dependencies',
    'node_modules/dependency-cruiser/bin/dependency-cruise.mjs',
    ['--config', 'build/dependency-rules.mjs', 'src', 'drivers', 'renderer', 'electron', 'tests', 'build'],
  ],
  ['dead-code', 'node_modules/knip/bin/knip.js', ['-c', 'build/knip.json']],
  ['format-check', 'build/format-check.mjs', []],
];

const wanted = process.argv.slice(2);
for (const name of wanted) {
  if (!checks.some(([known]) => known === name)) throw new Error(`No check '${name}'.`);
}

let failed = 0;
for (const [name, file, words] of checks) {
  if (wanted.length > 0 && !wanted.includes(name)) continue;
  const started = performance.now();
  const child = spawnSync(process.execPath, [join(root, file), ...words], { cwd: root, stdio: 'inherit' });
  const good = child.status === 0;
  if (!good) failed += 1;
  console.log(`${name}: ${good ? 'good' : 'FAILED'} (${((performance.now() - started) / 1000).toFixed(1)} s)`);
}
process.exitCode = failed;
