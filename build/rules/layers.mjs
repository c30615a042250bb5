/**
 * Who may import whom: the one table that the linter (`who-may-import-whom.mjs`) and the dependency check
 * (`build/dependency-rules.mjs`) both read. What the compiler can see of it stands in `build/tsconfig.*.json`.
 *
 * @typedef {object} Layer
 * @property {string} name how messages and dependency rules call it
 * @property {string} path regular expression on a file's path from the project's root
 * @property {readonly string[]} imports regular expressions of the files it may import; `$1` is group 1 of `path`
 * @property {readonly string[]} packages names of the packages it may import
 * @property {boolean} node whether it may import Node's own modules
 */

/** Packages that are pure computation. */
const purePackages = ['zod', 'pure-rand'];

/** Distributions and special functions: behind `src/statistics`, which says what their arguments may be. */
const distributionPackages = [
  ...['@stdlib/math-base-special-betainc', '@stdlib/math-base-special-gammaln'],
  ...['@stdlib/stats-base-dists-normal-cdf', '@stdlib/stats-base-dists-normal-quantile'],
  ...['@stdlib/stats-base-dists-t-cdf', '@stdlib/stats-base-dists-t-quantile'],
  ...['@stdlib/stats-base-dists-f-cdf', '@stdlib/stats-base-dists-f-quantile'],
  ...['@stdlib/stats-base-dists-chisquare-quantile', '@stdlib/stats-base-dists-beta-quantile'],
];

const rendererPackages = [
  ...['zod', 'react', 'react-dom', 'uplot', 'wouter', 'zustand', '@orpc/client', '@orpc/contract'],
  ...['@fontsource-variable/atkinson-hyperlegible-next', '@fontsource-variable/atkinson-hyperlegible-mono'],
  '@fontsource/open-sans',
];

const vocabulary = ['^src/(model|statistics)/'];
const firstTier = [...vocabulary, '^src/(device|series|calibration|physiology)/'];
const secondTier = [...firstTier, '^src/(trial|safety|leakage)/'];
const allPure = [...secondTier, '^src/(study|report|bridge)/'];
const hostImports = ['^src/host/', ...allPure, '^drivers/registry\\.ts$', '^drivers/framing/'];

/**
 * @param {string} folder
 * @param {readonly string[]} imports
 * @returns {Layer}
 */
const pure = (folder, imports) => ({
  name: folder,
  path: `^src/${folder}/`,
  imports: [`^src/${folder}/`, ...imports],
  packages: purePackages,
  node: false,
});

/** First match counts. @type {readonly Layer[]} */
export const layers = [
  pure('model', []),
  { ...pure('statistics', []), packages: [...distributionPackages, 'ml-levenberg-marquardt', 'ml-matrix'] },
  ...['device', 'series', 'calibration', 'physiology'].map((folder) => pure(folder, vocabulary)),
  ...['trial', 'safety', 'leakage'].map((folder) => pure(folder, firstTier)),
  pure('study', secondTier),
  pure('report', [...secondTier, '^src/study/']),
  { ...pure('bridge', allPure), packages: [...purePackages, '@orpc/contract'] },
  {
    name: 'framing',
    path: '^drivers/framing/',
    imports: ['^drivers/framing/', '^src/(model|device)/'],
    packages: purePackages,
    node: false,
  },
  {
    name: 'simulation',
    path: '^drivers/simulation/',
    imports: ['^drivers/simulation/', '^drivers/framing/', '^src/(model|device)/'],
    packages: purePackages,
    node: false,
  },
  {
    name: 'virtual-rig',
    path: '^drivers/virtual-rig/',
    imports: ['^drivers/', '^src/(model|device|series)/'],
    packages: purePackages,
    node: false,
  },
  {
    name: 'registry',
    path: '^drivers/registry\\.ts$',
    imports: ['^drivers/(?!virtual-rig/)', '^src/(model|device)/'],
    packages: purePackages,
    node: false,
  },
  {
    name: 'driver',
    path: '^drivers/([^/]+)/',
    imports: ['^drivers/$1/', '^drivers/(framing|simulation)/', '^src/(model|device)/'],
    packages: purePackages,
    node: false,
  },
  {
    name: 'rig-process',
    path: '^src/host/rig/',
    imports: [...hostImports, '^drivers/'],
    packages: [...purePackages, '@lydell/node-pty'],
    node: true,
  },
  {
    name: 'store',
    path: '^src/host/store/',
    imports: hostImports,
    packages: [...purePackages, 'better-sqlite3'],
    node: true,
  },
  {
    name: 'transport',
    path: '^src/host/transport/',
    imports: hostImports,
    packages: [...purePackages, 'serialport', '@serialport/parser-readline'],
    node: true,
  },
  {
    name: 'report-rendering',
    path: '^src/host/report/',
    imports: hostImports,
    packages: [
      ...[...purePackages, 'pdfmake', 'fontkit', '@fontsource/open-sans'],
      ...['@fontsource/atkinson-hyperlegible-next', '@fontsource/atkinson-hyperlegible-mono'],
    ],
    node: true,
  },
  {
    name: 'data-package',
    path: '^src/host/data-package/',
    imports: hostImports,
    packages: [...purePackages, 'csv-parse', 'csv-stringify'],
    node: true,
  },
  {
    name: 'door',
    path: '^src/host/door/',
    imports: hostImports,
    packages: [...purePackages, '@orpc/contract', '@orpc/server', 'ws'],
    node: true,
  },
  { name: 'host', path: '^src/host/', imports: hostImports, packages: purePackages, node: true },
  {
    name: 'guard',
    path: '^src/guard/',
    // Ports are opened as the host opens them, and stamped with the same clock; nothing else of the host.
    imports: ['^src/guard/', '^src/(model|device|safety)/', '^src/host/(clock|transport)/', '^drivers/registry\\.ts$'],
    packages: purePackages,
    node: true,
  },
  {
    name: 'renderer',
    path: '^renderer/',
    imports: ['^renderer/', ...allPure],
    packages: rendererPackages,
    node: false,
  },
  { name: 'electron', path: '^electron/', imports: ['^electron/'], packages: ['electron'], node: true },
];

/** Folders of the program itself; nothing in them may reach the desktop rim, the tests or the build. */
export const productPath = '^(src|drivers|renderer)/';

/** The project's own top-level folders: everything else that is imported is a package or one of Node's modules. */
export const ownPath = '^(src|drivers|renderer|electron|tests|build|fixtures)/';

/** Folders whose code sees neither clock nor random source nor I/O unless it is passed in. */
export const pureFolders = [
  ...['model', 'statistics', 'device', 'series', 'calibration', 'physiology', 'trial', 'safety', 'leakage'],
  ...['study', 'report', 'bridge'],
].map((folder) => `src/${folder}`).concat('drivers');

/**
 * The layer that a file belongs to, with its `$1` filled in.
 * @param {string} file path from the project's root, with forward slashes
 * @returns {Layer | undefined} undefined for files under no rule (tests, build)
 */
export function layerOf(file) {
  for (const layer of layers) {
    const match = new RegExp(layer.path).exec(file);
    if (match !== null) {
      return { ...layer, imports: layer.imports.map((path) => path.replaceAll('$1', match[1] ?? '')) };
    }
  }
  return undefined;
}
