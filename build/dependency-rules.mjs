import { layers, ownPath, productPath } from './rules/layers.mjs';

/** Matches a package wherever its node_modules lies. @param {readonly string[]} names */
const packages = (names) => `(^|/)node_modules/(${names.join('|')})/`;

/** @type {import('dependency-cruiser').DependencyType[]} */
const fromPackages = ['npm', 'npm-dev', 'npm-optional', 'npm-peer', 'npm-bundled'];

/**
 * @param {import('./rules/layers.mjs').Layer} layer
 * @returns {import('dependency-cruiser').IForbiddenRuleType[]}
 */
function rulesOf(layer) {
  // First match counts in the table; a rule of its own must leave out what an earlier row has taken.
  const earlier = layers.slice(0, layers.indexOf(layer)).map((other) => other.path);
  const from = { path: layer.path, pathNot: earlier };
  return [
    {
      name: `${layer.name}-imports-only-what-it-may`,
      severity: 'error',
      comment: 'Who may import whom stands in build/rules/layers.mjs.',
      from,
      to: { path: ownPath, pathNot: [...layer.imports] },
    },
    {
      name: `${layer.name}-uses-only-its-packages`,
      severity: 'error',
      comment: 'The packages of each layer stand in build/rules/layers.mjs.',
      from,
      to: {
        dependencyTypes: fromPackages,
        ...(layer.packages.length > 0 ? { pathNot: packages(layer.packages) } : {}),
      },
    },
    ...(layer.node
      ? []
      : [
          /** @type {import('dependency-cruiser').IForbiddenRuleType} */
          ({
            name: `${layer.name}-sees-no-node`,
            severity: 'error',
            comment: 'Have what you need passed in.',
            from,
            to: { dependencyTypes: ['core'] },
          }),
        ]),
  ];
}

/** @type {import('dependency-cruiser').IForbiddenRuleType[]} */
const alongAnyPath = [
  {
    name: 'truth-stays-outside-leakage',
    severity: 'error',
    comment: 'An assessment that could see the virtual rig could know the answer.',
    from: { path: '^src/leakage/' },
    to: { path: '^drivers/virtual-rig/', reachable: true },
  },
  {
    name: 'pure-never-reaches-host-or-drivers',
    severity: 'error',
    comment: 'Everything that decides or computes must run without ports, disk and clock.',
    from: { path: '^src/', pathNot: '^src/(host|guard)/' },
    to: { path: '^(src/host|src/guard|drivers)/', reachable: true },
  },
  {
    name: 'renderer-never-reaches-host-or-drivers',
    severity: 'error',
    comment: 'The window talks to the host over the bridge.',
    from: { path: '^renderer/' },
    to: { path: '^(src/host|src/guard|drivers)/', reachable: true },
  },
];

/** @type {import('dependency-cruiser').IForbiddenRuleType[]} */
const everywhere = [
  {
    name: 'only-the-rig-process-imports-the-virtual-rig',
    severity: 'error',
    comment: 'Truth stays outside: no driver and no part of the host but src/host/rig knows the virtual rig.',
    from: { path: '^(src|drivers|renderer|electron)/', pathNot: ['^src/host/rig/', '^drivers/virtual-rig/'] },
    to: { path: '^drivers/virtual-rig/' },
  },
  {
    name: 'nobody-imports-electron-tests-or-build',
    severity: 'error',
    comment: 'The rim starts the program; the program knows neither the rim nor its tests nor its build.',
    from: { path: productPath },
    to: { path: '^(electron|tests|build|fixtures)/' },
  },
  {
    name: 'electron-starts-and-never-imports',
    severity: 'error',
    comment: 'The desktop rim holds no logic; it starts the host by its entry file.',
    from: { path: '^electron/' },
    to: { path: '^(src|drivers|renderer|tests|build)/' },
  },
  {
    name: 'no-cycle',
    severity: 'error',
    comment: 'Files that need each other to run are one file, or lack a third. Types alone may go both ways.',
    from: {},
    to: { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } },
  },
  {
    name: 'nothing-unresolvable',
    severity: 'error',
    comment: 'The import leads nowhere.',
    from: {},
    to: { couldNotResolve: true },
  },
  {
    name: 'nothing-unlisted',
    severity: 'error',
    comment: 'The package is installed by accident of another; list it in package.json.',
    from: {},
    to: { dependencyTypes: ['npm-no-pkg', 'npm-unknown'] },
  },
  {
    name: 'no-development-package-in-the-program',
    severity: 'error',
    comment: 'An installed program has no development packages; the rim runs inside one, which packaging puts in.',
    from: { path: '^(src|drivers|renderer|electron)/' },
    to: {
      dependencyTypes: ['npm-dev'],
      dependencyTypesNot: ['type-only'],
      pathNot: '(^|/)node_modules/(@types|electron)/',
    },
  },
  {
    name: 'no-orphan',
    severity: 'warn',
    comment: 'Nobody imports it and it imports nobody.',
    from: { orphan: true, path: '^(src|drivers|renderer|electron)/', pathNot: '\\.d\\.ts$' },
    to: {},
  },
];

/** @type {import('dependency-cruiser').IConfiguration} */
export default {
  forbidden: [...layers.flatMap(rulesOf), ...alongAnyPath, ...everywhere],
  options: {
    // Type imports count: whoever knows a type knows its owner.
    tsPreCompilationDeps: true,
    doNotFollow: { path: '(^|/)node_modules/' },
    exclude: { path: '^build/out/' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'node', 'default', 'types'] },
  },
};
