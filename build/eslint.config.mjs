import tseslint from 'typescript-eslint';
import { pureFolders } from './rules/layers.mjs';
import { whoMayImportWhom } from './rules/who-may-import-whom.mjs';

const everywhere = ['**/*.ts', '**/*.tsx', '**/*.mjs'];
const pure = pureFolders.map((folder) => `${folder}/**/*.ts`);

const passedIn = 'Pure folders have time, randomness and I/O passed in.';
const noSuchGlobals = [
  ...['Date', 'Intl', 'performance', 'crypto'],
  ...['setTimeout', 'setInterval', 'setImmediate', 'clearTimeout', 'clearInterval', 'queueMicrotask'],
  ...['console', 'process', 'Buffer', 'TextEncoder', 'TextDecoder', 'URL', 'fetch', 'require'],
  ...['window', 'document', 'navigator', 'localStorage', 'globalThis', 'self'],
];
const notRun = ['it', 'test', 'describe'].flatMap((object) =>
  ['skip', 'only', 'todo', 'fails', 'skipIf', 'runIf'].map((property) => ({
    object,
    property,
    message: 'Every test runs, every time.',
  })),
);

export default tseslint.config(
  { ignores: ['build/out/**', 'node_modules/**', 'fixtures/**', 'coverage/**'] },
  {
    files: everywhere,
    extends: [tseslint.configs.recommendedTypeChecked],
    plugins: { house: { rules: { 'who-may-import-whom': whoMayImportWhom } } },
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: `${import.meta.dirname}/..` } },
    // Comments cannot switch a rule off.
    linterOptions: { noInlineConfig: true },
    rules: {
      'house/who-may-import-whom': 'error',
      'no-warning-comments': ['error', { terms: ['todo', 'fixme', 'xxx', 'hack'], location: 'anywhere' }],
      'max-lines': ['warn', { max: 400 }],
      eqeqeq: ['error', 'always', { null: 'ignore' }],
      '@typescript-eslint/ban-ts-comment': ['error', { 'ts-expect-error': true }],
      '@typescript-eslint/consistent-type-imports': 'error',
      '@typescript-eslint/no-explicit-any': 'error',
      // `void` is allowed: the promise may still end the process, so nothing is swallowed, and the reader is told.
      '@typescript-eslint/no-floating-promises': 'error',
      '@typescript-eslint/no-misused-promises': 'error',
      '@typescript-eslint/switch-exhaustiveness-check': ['error', { considerDefaultExhaustiveForUnions: true }],
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', caughtErrors: 'all' }],
      // Interfaces are met by closures here, not by classes: a method has no `this` to lose.
      '@typescript-eslint/unbound-method': 'off',
      // A synchronous implementation of an asynchronous interface is no mistake.
      '@typescript-eslint/require-await': 'off',
    },
  },
  {
    files: pure,
    rules: {
      'no-console': 'error',
      'no-restricted-globals': ['error', ...noSuchGlobals.map((name) => ({ name, message: passedIn }))],
      'no-restricted-properties': ['error', { object: 'Math', property: 'random', message: passedIn }],
    },
  },
  {
    // Types in JavaScript stand in comments, which these rules do not see; the compiler does.
    files: ['**/*.mjs'],
    rules: { '@typescript-eslint/no-unsafe-assignment': 'off' },
  },
  {
    files: ['tests/**/*.ts'],
    rules: { 'no-restricted-properties': ['error', ...notRun] },
  },
);
