/**
 * Bundles the program: `node build/bundle.mjs [FOLDER]`, into build/out when no other folder is given. Runs in
 * `npm ci` (as `prepare`), so that the command works at once after it.
 */
import { chmodSync, mkdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { build } from 'esbuild';
import { entries, nativePackages, runtimePackages } from './entries.mjs';

const root = join(import.meta.dirname, '..');
const out = resolve(root, process.argv[2] ?? 'build/out');

const { version } = /** @type {{ version: string }} */ (JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')));

// Bundled CommonJS packages ask for Node's own modules through `require`, which an ES module does not have.
const requireForBundledPackages = [
  "import { createRequire as createRequireOfBundle } from 'node:module';",
  'const require = createRequireOfBundle(import.meta.url);',
].join('\n');

mkdirSync(out, { recursive: true });
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
    external: [...nativePackages, ...runtimePackages],
    define: { chambersideVersion: JSON.stringify(version) },
    banner: { js: `${command ? '#!/usr/bin/env node\n' : ''}${module ? requireForBundledPackages : ''}` },
    logLevel: 'warning',
  });
  if (command) chmodSync(join(out, bundle), 0o755);
}
