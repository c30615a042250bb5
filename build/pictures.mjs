import { spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { root } from './tiers.mjs';

/**
 * Takes the pictures of the guides anew: `npm run pictures`. The end-to-end tests make them; a picture of the guides is
 * replaced by the one of the same name that they made, once all of them passed. One that no test made is named, and
 * the command fails.
 */
const guides = join(root, 'docs/guides/pictures');
/** The tests that make them, by file and by words of their names, so that nothing else is gone through. */
const runs = [
  ['tests/end-to-end/first-trial.test.ts'],
  ['tests/end-to-end/subject-display.test.ts', '-t', 'subject-march'],
  ['tests/end-to-end/study.test.ts'],
  ['tests/end-to-end/screens.test.ts', '-t', 'rig-lines|may be asked|begun from a template'],
];

const made = mkdtempSync(join(tmpdir(), 'chamberside-pictures-'));
try {
  for (const run of [[process.execPath, 'build/bundle.mjs'], ...runs.map((words) => vitest(words))]) {
    const [command = '', ...words] = run;
    const { status } = spawnSync(command, words, {
      cwd: root,
      stdio: 'inherit',
      env: { ...process.env, CHAMBERSIDE_PICTURES: made },
    });
    if (status !== 0) throw new Error(`This failed, and no picture was replaced: ${run.join(' ')}`);
  }
  let missing = false;
  for (const name of readdirSync(guides).filter((file) => file.endsWith('.png'))) {
    const picture = join(made, name);
    if (existsSync(picture)) {
      copyFileSync(picture, join(guides, name));
      console.log(`${name}: taken anew`);
    } else {
      missing = true;
      console.error(`${name}: no test makes a picture of this name. Rename it, or take it out of the guides.`);
    }
  }
  process.exitCode = missing ? 1 : 0;
} finally {
  rmSync(made, { recursive: true, force: true });
}

/** @param {readonly string[]} words @returns {readonly string[]} */
function vitest(words) {
  const runner = join(root, 'node_modules/vitest/vitest.mjs');
  return [process.execPath, runner, 'run', '-c', 'build/vitest.config.ts', ...words];
}
