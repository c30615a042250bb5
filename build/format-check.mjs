import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { root } from './tiers.mjs';

const longestLine = 120;
const code = /\.(ts|tsx|mjs)$/;
const text = /\.(ts|tsx|mjs|json|md|sql|css|html|yml)$/;

/**
 * What is wrong with the form of one file, one line each. Covers what an editor with .editorconfig gets right and a
 * reader notices at once; layout within a line is left to people.
 * @param {string} file its name, for its kind
 * @param {string} content
 * @returns {string[]}
 */
export function formatProblems(file, content) {
  if (!text.test(file)) return [];
  /** @type {string[]} */
  const problems = [];
  if (content.length > 0 && !content.endsWith('\n')) problems.push('no newline at the end');
  if (content.endsWith('\n\n')) problems.push('an empty line at the end');
  content.split('\n').forEach((line, index) => {
    const where = `line ${index + 1}`;
    if (line.endsWith('\r')) problems.push(`${where}: carriage return`);
    else if (/\s$/.test(line)) problems.push(`${where}: white space at the end`);
    if (/^ *\t/.test(line)) problems.push(`${where}: tab`);
    if (code.test(file) && line.length > longestLine) {
      problems.push(`${where}: ${line.length} columns, at most ${longestLine}`);
    }
  });
  return problems;
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const listed = execFileSync('git', ['ls-files', '-z', '--cached', '--others', '--exclude-standard'], {
    cwd: root,
    encoding: 'utf8',
  });
  for (const file of listed.split('\0')) {
    if (file === '' || file === 'package-lock.json' || !existsSync(join(root, file))) continue;
    for (const problem of formatProblems(file, readFileSync(join(root, file), 'utf8'))) {
      console.log(`${file}: ${problem}`);
      process.exitCode = 1;
    }
  }
}
