/**
 * Lets go wrong what can go wrong: `node build/faults.mjs [options]`; `--help` tells more. Builds the program first,
 * because what people run is the bundle, and sees to the clock that can be set.
 */
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { provideOtherClock } from './other-clock.mjs';
import { root } from './tiers.mjs';

/** @param {readonly string[]} words */
const node = (words) => spawnSync(process.execPath, words, { cwd: root, stdio: 'inherit' }).status ?? 1;

if (node([join(root, 'build/bundle.mjs')]) !== 0) throw new Error('The program could not be built.');
provideOtherClock();
process.exitCode = node(['--import', 'tsx', join(root, 'tests/faults/main.ts'), ...process.argv.slice(2)]);
