/**
 * Weathers storms: `node build/storms.mjs [options]`; `--help` tells more. Bundles the program and the storms first,
 * into a folder of their own, because what people run is the bundle.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { bundleForNode } from './bundle-node.mjs';
import { root } from './tiers.mjs';

const out = join(root, 'build/out/storms');

/** @param {readonly string[]} words */
const node = (words) => spawnSync(process.execPath, words, { cwd: root, stdio: 'inherit' }).status ?? 1;

if (node([join(root, 'build/bundle.mjs'), out]) !== 0) throw new Error('The program could not be built.');
await bundleForNode({ source: 'tests/storms/main.ts', bundle: 'storms.js', command: false }, out);
process.exitCode = node([join(out, 'storms.js'), ...process.argv.slice(2)]);
