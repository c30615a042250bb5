import { chmodSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { build } from 'esbuild';
import { nativePackages, runtimePackages, unbundledPackages } from './entries.mjs';

const root = join(import.meta.dirname, '..');
const { version } = /** @type {{ version: string }} */ (JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')));

// Bundled CommonJS packages ask for Node's own modules through `require`, which an ES module does not have.
const requireForBundledPackages = [
  "import { createRequire as createRequireOfBundle } from 'node:module';",
  'const require = createRequireOfBundle(import.meta.url);',
].join('\n');

/**
 * Bundles one file that Node runs. Names that end in `.js` become ES modules.
 * @param {import('./entries.mjs').Entry} entry
 * @param {string} out folder
 * @param {readonly string[]} [external] packages that stay outside besides the native ones
 */
export async function bundleForNode({ source, bundle, command }, out, external = []) {
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
    external: [...nativePackages, ...unbundledPackages, ...runtimePackages, ...external],
    define: { chambersideVersion: JSON.stringify(version) },
    banner: { js: `${command ? '#!/usr/bin/env node\n' : ''}${module ? requireForBundledPackages : ''}` },
    logLevel: 'warning',
  });
  if (command) chmodSync(join(out, bundle), 0o755);
}
