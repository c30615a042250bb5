import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import dependencyRules from '../../../build/dependency-rules.mjs';
import lintConfiguration from '../../../build/eslint.config.mjs';
import {
  compilerConfigurations,
  compilerFindings,
  createOverlay,
  dependencyFindings,
  expectations,
  filesSeenByCompiler,
  lintFindings,
  removeOverlay,
  root,
  type Findings,
} from './rule-overlay.ts';

const patience = 180_000;
const ofTree = expectations('tree');
const ofForeignPackages = expectations('foreign-packages');
const expectedAnywhere = [...ofTree.values(), ...ofForeignPackages.values()]
  .flat()
  .map((line) => line.replace(/ \d+ /, ' '));

/** What the tools said of a file, all of them together. */
function saidOf(file: string, tools: readonly Findings[]): string[] {
  return tools.flatMap((findings) => findings.get(file) ?? []).sort();
}

describe('the rules, run by the real tools with the real configuration on fixtures in their place', () => {
  let tree = '';
  let withForeignPackages = '';
  let onTree: readonly Findings[] = [];
  let onForeignPackages: readonly Findings[] = [];

  beforeAll(async () => {
    tree = createOverlay(['tree']);
    withForeignPackages = createOverlay(['tree', 'foreign-packages']);
    onTree = await Promise.all([compilerFindings(tree), lintFindings(tree), dependencyFindings(tree)]);
    onForeignPackages = await Promise.all([lintFindings(withForeignPackages), dependencyFindings(withForeignPackages)]);
  }, patience);

  afterAll(() => {
    removeOverlay(tree);
    removeOverlay(withForeignPackages);
  });

  it.each([...ofTree])('%s', (file, expected) => {
    expect(saidOf(file, onTree)).toEqual(expected);
  });

  it.each([...ofForeignPackages])('foreign packages: %s', (file, expected) => {
    expect(saidOf(file, onForeignPackages)).toEqual(expected);
  });

  it('say nothing of files that are no fixtures', () => {
    const strangers = onTree.flatMap((findings) => [...findings.keys()]).filter((file) => !ofTree.has(file));
    expect(strangers).toEqual([]);
  });
});

describe('every rule has a fixture that breaks it', () => {
  it.each((dependencyRules.forbidden ?? []).map(({ name }) => name))('dependency rule %s', (name) => {
    expect(expectedAnywhere).toContain(`dependency ${name ?? ''}`);
  });

  const ownLintRules = lintConfiguration
    .filter((block) => block.name === undefined || !block.name.startsWith('typescript-eslint/'))
    .flatMap((block) => Object.entries(block.rules ?? {}))
    .filter(([, setting]) => setting !== 'off')
    .map(([name]) => name);

  it.each([...new Set(ownLintRules)])('lint rule %s', (name) => {
    expect(expectedAnywhere).toContain(`lint ${name}`);
  });

  it.each(compilerConfigurations)('compiler configuration %s', (name) => {
    expect(expectedAnywhere.some((line) => line.startsWith(`compiler ${name}:`))).toBe(true);
  });

  it('finds the own lint rules where it looks for them', () => {
    expect(ownLintRules).toContain('house/who-may-import-whom');
    expect(ownLintRules).toContain('no-restricted-globals');
  });
});

describe('the project itself, under its own configurations', () => {
  // A package's types can bring a runtime's globals along; then the fixtures would prove nothing about the project.
  it.each(['core', 'pure'])('%s sees neither Node nor the DOM', async (name) => {
    const files = await filesSeenByCompiler(name);
    expect(files.some((file) => file.includes('/src/model/'))).toBe(true);
    expect(files.filter((file) => /@types\/node\/|\/lib\.dom\./.test(file))).toEqual([]);
  }, patience);

  it('renderer sees the DOM and not Node', async () => {
    const files = await filesSeenByCompiler('renderer');
    expect(files.some((file) => file.includes('/lib.dom.'))).toBe(true);
    expect(files.filter((file) => file.includes('@types/node/'))).toEqual([]);
  }, patience);

  it('is checked under every configuration there is', () => {
    const editor = JSON.parse(readFileSync(join(root, 'tsconfig.json'), 'utf8')) as { references: { path: string }[] };
    const referenced = editor.references.map(({ path }) => path).sort();
    expect(referenced).toEqual(compilerConfigurations.map((name) => `./build/tsconfig.${name}.json`).sort());
  });
});
