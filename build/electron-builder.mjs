/**
 * What the desktop program is packaged of: `npm run package:desktop`. Packaging fetches the runtime, so it runs only
 * where its host can be reached, and in no check. It works on the folder that build/desktop-folder.mjs makes.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

const { devDependencies } = /** @type {{ devDependencies: Record<string, string> }} */ (
  JSON.parse(readFileSync(join(import.meta.dirname, '../package.json'), 'utf8'))
);

/** @type {import('electron-builder').Configuration} */
export default {
  appId: 'chamberside.desktop',
  productName: 'Chamberside',
  electronVersion: devDependencies['electron'] ?? null,
  // Seen from the folder that is packaged, which is the packager's whole project: of a project above it, it would build
  // the native parts anew as well.
  directories: { output: '../packages', buildResources: '../desktop-resources' },
  files: ['**/*', '!*.map'],
  asar: true,
  // The host runs from outside the archive: a native part cannot be loaded from within, and the host's threads, its
  // rig process and the screens are read by plain paths.
  asarUnpack: ['*.js', 'renderer/**', 'node_modules/**'],
  npmRebuild: true,
  electronFuses: {
    // The host starts the virtual rig as a process of its own, by the runtime as a plain Node.
    runAsNode: true,
    enableNodeOptionsEnvironmentVariable: false,
    enableNodeCliInspectArguments: false,
    enableCookieEncryption: true,
    enableEmbeddedAsarIntegrityValidation: true,
    onlyLoadAppFromAsar: true,
    grantFileProtocolExtraPrivileges: false,
  },
  linux: { target: ['dir'], category: 'Science' },
  win: { target: ['dir'] },
  mac: { target: ['dir'], identity: null },
  // Nothing is ever put anywhere but into the folder.
  publish: null,
};
