import { execFile } from 'node:child_process';
import { copyFileSync, cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { join, relative, resolve as resolvePath, sep } from 'node:path';

export const root = join(import.meta.dirname, '../../..');
const fixtures = join(root, 'fixtures/rules');

/**
 * `tree` is the small project. `foreign-packages` is laid over it for the linter and the dependency check alone: the
 * types of those packages bring Node's globals with them and would blind the compiler to everything else.
 */
export type FixtureSet = 'tree' | 'foreign-packages';

/** Configurations of the compiler, by the part of their file name that differs. */
export const compilerConfigurations = readdirSync(join(root, 'build'))
  .map((file) => /^tsconfig\.(\w+)\.json$/.exec(file)?.[1])
  .filter((name): name is string => name !== undefined && name !== 'base');

/** What a tool said of one file: `lint no-console`, `compiler core:TS2304`, `dependency no-cycle`. */
export type Findings = ReadonlyMap<string, readonly string[]>;

/**
 * A small project whose files lie where the rules look for them: the fixtures under the project's own configuration
 * files, byte for byte. It stands inside build/out, so that packages resolve as they do for the project itself.
 */
export function createOverlay(sets: readonly FixtureSet[]): string {
  mkdirSync(join(root, 'build/out'), { recursive: true });
  const overlay = mkdtempSync(join(root, 'build/out/rules-'));
  for (const set of sets) cpSync(join(fixtures, set), overlay, { recursive: true });
  for (const file of ['package.json', 'tsconfig.json']) copyFileSync(join(root, file), join(overlay, file));
  for (const file of readdirSync(join(root, 'build'))) {
    if (/^(tsconfig\..*\.json|eslint\.config\.mjs|dependency-rules\.mjs)$/.test(file)) {
      copyFileSync(join(root, 'build', file), join(overlay, 'build', file));
    }
  }
  cpSync(join(root, 'build/rules'), join(overlay, 'build/rules'), { recursive: true });
  return overlay;
}

export function removeOverlay(overlay: string): void {
  rmSync(overlay, { recursive: true, force: true });
}

/** Every fixture, by its path in the overlay, with what its `// expect` lines say: a sorted list, empty when clean. */
export function expectations(set: FixtureSet): Findings {
  const tree = join(fixtures, set);
  const files = readdirSync(tree, { recursive: true, encoding: 'utf8' }).filter((file) => /\.(ts|mjs)$/.test(file));
  return new Map(
    files.map((file) => {
      const lines = readFileSync(join(tree, file), 'utf8').split('\n');
      const expected = lines.flatMap((line) => /^\/\/ expect (.+)$/.exec(line)?.[1] ?? []);
      if (expected.length === 0) throw new Error(`${file} says nothing of what is expected of it`);
      return [file.split(sep).join('/'), expected.filter((each) => each !== 'nothing').sort()];
    }),
  );
}

/** Runs a tool as the checks do and hands back what it printed, whatever its exit status. */
function run(overlay: string, tool: string, words: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    execFile(
      process.execPath,
      [join(root, 'node_modules', tool), ...words],
      { cwd: overlay, maxBuffer: 64 * 2 ** 20 },
      (error, output, errors) => {
        if (error !== null && typeof error.code !== 'number') reject(new Error(`${tool}: ${error.message}`));
        else if (output === '' && errors !== '') reject(new Error(`${tool}: ${errors}`));
        else resolve(output);
      },
    );
  });
}

function counted(tool: string, found: readonly (readonly [file: string, rule: string])[]): Findings {
  const counts = new Map<string, Map<string, number>>();
  for (const [file, rule] of found) {
    const rules = counts.get(file) ?? new Map<string, number>();
    rules.set(rule, (rules.get(rule) ?? 0) + 1);
    counts.set(file, rules);
  }
  return new Map(
    [...counts].map(([file, rules]) => [
      file,
      [...rules].map(([rule, count]) => `${tool} ${count > 1 ? `${count} ` : ''}${rule}`).sort(),
    ]),
  );
}

/** Error 6307, "not listed within the file list of project": a file beyond the folders of a configuration. */
const beyondTheFolders = 'TS6307';

/**
 * The compiler's findings under every configuration; `core:TS2304` is error 2304 under build/tsconfig.core.json. Of
 * the files that import one beyond the configuration's folders the compiler names the others under its message; each
 * is a finding of its own. What files beyond the folders import is not.
 */
export async function compilerFindings(overlay: string): Promise<Findings> {
  const found: [string, string][] = [];
  for (const name of compilerConfigurations) {
    const words = ['-p', `build/tsconfig.${name}.json`, '--pretty', 'false'];
    const output = await run(overlay, 'typescript/bin/tsc', words);
    const beyond = new Set<string>();
    const reaching = new Set<string>();
    let code = '';
    for (const line of output.split('\n')) {
      const [, file, error, text] = /^(\S.*?)\(\d+,\d+\): error (TS\d+): (.*)/.exec(line) ?? [];
      const importer = /Imported via .* from file '([^']+)'/.exec(line)?.[1];
      if (file !== undefined && error !== undefined) {
        code = error;
        if (error === beyondTheFolders) {
          reaching.add(file);
          beyond.add(relative(overlay, /^File '([^']+)'/.exec(text ?? '')?.[1] ?? ''));
        } else {
          found.push([file, `${name}:${error}`]);
        }
      } else if (importer !== undefined && code === beyondTheFolders) {
        reaching.add(relative(overlay, resolvePath(overlay, importer)));
      } else if (/^error/.test(line)) {
        throw new Error(line);
      }
    }
    for (const file of reaching) if (!beyond.has(file)) found.push([file, `${name}:${beyondTheFolders}`]);
  }
  return counted('compiler', found);
}

export async function lintFindings(overlay: string): Promise<Findings> {
  const output = await run(overlay, 'eslint/bin/eslint.js', ['-c', 'build/eslint.config.mjs', '-f', 'json', '.']);
  const results = JSON.parse(output) as { filePath: string; messages: { ruleId: string | null; message: string }[] }[];
  return counted(
    'lint',
    results.flatMap(({ filePath, messages }) =>
      messages.map(({ ruleId, message }): [string, string] => [
        relative(overlay, filePath).split(sep).join('/'),
        // A comment that tries to switch a rule off is reported without a rule.
        ruleId ?? (message.includes('noInlineConfig') ? 'noInlineConfig' : message),
      ]),
    ),
  );
}

export async function dependencyFindings(overlay: string): Promise<Findings> {
  const folders = ['src', 'drivers', 'renderer', 'electron', 'tests', 'build'];
  const words = ['--config', 'build/dependency-rules.mjs', '--output-type', 'json', ...folders];
  const output = await run(overlay, 'dependency-cruiser/bin/dependency-cruise.mjs', words);
  const { summary } = JSON.parse(output) as {
    summary: { violations: { from: string; rule: { name: string }; cycle?: { name: string }[] }[] };
  };
  // One import may break a rule along several paths; that it breaks it is one finding. A cycle is found in each part.
  const found = new Set(
    summary.violations.flatMap(({ from, rule, cycle }) =>
      [from, ...(cycle ?? []).map(({ name }) => name)].map((file) => `${file}\n${rule.name}`),
    ),
  );
  return counted(
    'dependency',
    [...found].map((pair): [string, string] => {
      const [file = '', rule = ''] = pair.split('\n');
      return [file, rule];
    }),
  );
}

/** The files that one configuration makes the compiler read, for the project itself. */
export async function filesSeenByCompiler(name: string): Promise<readonly string[]> {
  const output = await run(root, 'typescript/bin/tsc', ['-p', `build/tsconfig.${name}.json`, '--listFilesOnly']);
  return output.split('\n').filter((line) => line.length > 0);
}
