/**
 * Bundles the program: `node build/bundle.mjs [FOLDER]`, into build/out when no other folder is given. Runs in
 * `npm ci` (as `prepare`), so that the command works at once after it.
 */
import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { build as buildScreens } from 'vite';
import { bundleForNode } from './bundle-node.mjs';
import { entries } from './entries.mjs';
import { entries, nativePackages, runtimePackages, unbundledPackages } from './entries.mjs';

const root = join(import.meta.dirname, '..');
const out = resolve(root, process.argv[2] ?? 'build/out');

mkdirSync(out, { recursive: true });
for (const entry of entries) await bundleForNode(entry, out);
for (const { source, bundle, command } of entries) {
  const module = bundle.endsWith('.js');
  await build({
    absWorkingDir: root,
    entryPoints: [source],
    outfile: join(out, bundle),
    bundle: true,
    platform: 'node',
    target: 'node20',
    format: module ? 'esm' : 'cjs',
    sourcemap: 'linked',
    external: [...nativePackages, ...unbundledPackages, ...runtimePackages],
    define: { chambersideVersion: JSON.stringify(version) },
    banner: { js: `${command ? '#!/usr/bin/env node\n' : ''}${module ? requireForBundledPackages : ''}` },
    logLevel: 'warning',
  });
  if (command) chmodSync(join(out, bundle), 0o755);
}

await buildScreens({
  configFile: join(import.meta.dirname, 'vite.config.ts'),
  build: { outDir: join(out, 'renderer'), emptyOutDir: true },
});
