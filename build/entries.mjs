/** @typedef {{ source: string, bundle: string, command: boolean }} Entry */

/**
 * What is bundled: every file that is started as a process or a thread of its own. Each lands beside the others, so
 * that one finds another by its name alone.
 * @type {readonly Entry[]}
 */
export const entries = [
  { source: 'src/host/cli/entry.ts', bundle: 'chamberside.js', command: true },
  { source: 'src/host/store/writer-worker.ts', bundle: 'writer-worker.js', command: false },
  { source: 'src/host/rig/rig-process.ts', bundle: 'rig-process.js', command: false },
  { source: 'src/guard/guard-process.ts', bundle: 'guard-process.js', command: false },
  { source: 'electron/main.ts', bundle: 'desktop.cjs', command: false },
  { source: 'electron/preload.ts', bundle: 'desktop-preload.cjs', command: false },
  { source: 'src/host/compute/compute-worker.ts', bundle: 'compute-worker.js', command: false },
];

/** Packages with a native part: loaded from node_modules, never bundled. */
export const nativePackages = ['better-sqlite3', 'serialport', '@serialport/parser-readline', '@lydell/node-pty'];

/**
 * Loaded from node_modules although nothing in them is native: they read files of their own beside them.
 */
export const unbundledPackages = ['pdfmake', 'fontkit'];

/** What the runtime that starts a bundle brings itself; a development package, because packaging puts it in. */
export const runtimePackages = ['electron'];
