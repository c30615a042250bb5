/**
 * Puts what is packaged into a folder of its own, build/out/desktop-app: the bundles, the screens, and the packages
 * that the bundles load. The packager builds native parts anew for its runtime, and would do so in the checkout's own
 * node_modules, where Node could no longer load them.
 */
import { cpSync, existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { entries, nativePackages, unbundledPackages } from './entries.mjs';

const root = join(import.meta.dirname, '..');
const out = join(root, 'build/out');

/** @typedef {{ dependencies?: Record<string, string>, optionalDependencies?: Record<string, string> }} Locked */

/** Packages of these names and all that they need, by name. @param {readonly string[]} names */
export function withNeeded(names) {
  const lock = /** @type {{ packages: Record<string, Locked> }} */ (
    JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8'))
  );
  /** @type {Set<string>} */
  const found = new Set();
  const waiting = [...names];
  for (let name = waiting.pop(); name !== undefined; name = waiting.pop()) {
    if (found.has(name)) continue;
    found.add(name);
    const { dependencies, optionalDependencies } = lock.packages[`node_modules/${name}`] ?? {};
    waiting.push(...Object.keys({ ...dependencies, ...optionalDependencies }));
  }
  return [...found].sort();
}

const description = /** @type {Record<string, unknown> & { dependencies: Record<string, string> }} */ (
  JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'))
);

/** What the bundles load or read from node_modules: of the fonts the files. */
export const loadedPackages = [
  ...nativePackages,
  ...unbundledPackages,
  ...Object.keys(description.dependencies).filter((name) => name.startsWith('@fontsource')),
];

/** @param {string} folder made anew. */
export function makeDesktopFolder(folder) {
  const { name, version, license, type, dependencies } = description;
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  const packaged = {
    ...{ name, version, license, type, description: description['description'], author: 'Chamberside' },
    main: 'desktop.cjs',
    dependencies: Object.fromEntries(loadedPackages.map((one) => [one, dependencies[one]])),
  };
  writeFileSync(join(folder, 'package.json'), `${JSON.stringify(packaged, null, 2)}\n`);
  for (const { bundle } of entries) cpSync(join(out, bundle), join(folder, bundle));
  cpSync(join(out, 'renderer'), join(folder, 'renderer'), { recursive: true });
  cpSync(join(root, 'LICENSE'), join(folder, 'LICENSE'));
  for (const one of withNeeded(loadedPackages)) {
    const from = join(root, 'node_modules', one);
    // Those for other systems are in the lock and not on the disk.
    if (existsSync(from)) cpSync(from, join(folder, 'node_modules', one), { recursive: true });
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) makeDesktopFolder(join(out, 'desktop-app'));
