/**
 * Bundles the program: `node build/bundle.mjs [FOLDER]`, into build/out when no other folder is given. Runs in
 * `npm ci` (as `prepare`), so that the command works at once after it.
 */
import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { build as buildScreens } from 'vite';
import { bundleForNode } from './bundle-node.mjs';
import { entries } from './entries.mjs';

const root = join(import.meta.dirname, '..');
const out = resolve(root, process.argv[2] ?? 'build/out');

mkdirSync(out, { recursive: true });
for (const entry of entries) await bundleForNode(entry, out);

await buildScreens({
  configFile: join(import.meta.dirname, 'vite.config.ts'),
  build: { outDir: join(out, 'renderer'), emptyOutDir: true },
});
