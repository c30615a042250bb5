/**
 * Measures the program: `node build/bench.mjs [options]`, or `node build/bench.mjs compare …`; `--help` tells more.
 * Bundles the program and the bench first, into a folder of their own, because what people run is the bundle.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { build } from 'esbuild';
import { bundleForNode } from './bundle-node.mjs';
import { root } from './tiers.mjs';

const out = join(root, 'build/out/bench');

/** @param {readonly string[]} words */
const node = (words) => spawnSync(process.execPath, words, { cwd: root, stdio: 'inherit' }).status ?? 1;

if (node([join(root, 'build/bundle.mjs'), out]) !== 0) throw new Error('The program could not be built.');
for (const [source, bundle] of [
  ['tests/bench/main.ts', 'bench.js'],
  ['tests/bench/start-floor-process.ts', 'bench-start-floor.js'],
  ['tests/bench/start-floor-worker-process.ts', 'bench-start-floor-worker.js'],
]) {
  await bundleForNode({ source: source ?? '', bundle: bundle ?? '', command: false }, out, ['playwright']);
}
await build({
  absWorkingDir: root,
  entryPoints: ['tests/bench/page/redraw-page.ts'],
  outfile: join(out, 'bench-page.js'),
  bundle: true,
  format: 'iife',
  target: 'es2023',
  logLevel: 'warning',
});
process.exitCode = node([join(out, 'bench.js'), ...process.argv.slice(2)]);
