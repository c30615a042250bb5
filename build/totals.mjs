import { existsSync, readFileSync } from 'node:fs';
import { relative } from 'node:path';
import { pathToFileURL } from 'node:url';
import { looseErrorsPath, reportPath, root, testFileCount, tierNamed } from './tiers.mjs';

/**
 * @typedef {object} Totals
 * @property {number} passed tests
 * @property {number} failed tests, test files that could not be loaded, reports that are missing or say nothing, errors
 *   that no test owns
 * @property {readonly string[]} complaints one line for everything in `failed` that is not a failed test
 * @property {readonly string[]} failures one line for every failed test: its file, its name, what it said first
 */

/**
 * The parts of the runner's JSON report that count.
 * @typedef {object} Report
 * @property {unknown} [numTotalTests]
 * @property {unknown} [numPassedTests]
 * @property {unknown} [numFailedTests]
 * @property {unknown} [success]
 * @property {FileResult[]} [testResults] one for each file
 */

/**
 * @typedef {object} FileResult
 * @property {unknown} [status]
 * @property {unknown} [name]
 * @property {{ status?: unknown, fullName?: unknown, failureMessages?: unknown }[]} [assertionResults]
 */

/**
 * Reads what the runner reported. A report that is absent, torn or empty counts as a failure: the runner crashed, or
 * ran nothing.
 * @param {import('./tiers.mjs').Tier} tier
 * @param {string} [from] the project's root
 * @returns {Totals}
 */
export function totalsOf(tier, from = root) {
  const path = reportPath(tier, from);
  const files = testFileCount(tier, from);
  if (files === 0 && tier.mayBeEmpty) return { passed: 0, failed: 0, complaints: [], failures: [] };
  /** @param {string} why @returns {Totals} */
  const broken = (why) => ({ passed: 0, failed: 1, complaints: [`${tier.name}: ${why}`], failures: [] });
  if (!existsSync(path)) return broken(`no report at ${path}; the runner did not finish`);

  /** @type {Report} */
  let report;
  try {
    report = /** @type {Report} */ (JSON.parse(readFileSync(path, 'utf8')));
  } catch {
    return broken(`the report at ${path} is not JSON`);
  }
  const { numPassedTests: passed, numFailedTests: failed, numTotalTests: total, testResults: results } = report;
  const counted = typeof passed === 'number' && typeof failed === 'number' && typeof total === 'number';
  if (!counted || !Array.isArray(results)) {
    return broken(`the report at ${path} has no totals`);
  }

  /** @type {string[]} */
  const complaints = [];
  for (const result of results) {
    if (result.status === 'failed' && (result.assertionResults ?? []).length === 0) {
      complaints.push(`${tier.name}: ${String(result.name)} could not be run`);
    }
  }
  if (total === 0) complaints.push(`${tier.name}: the runner found no test`);
  if (results.length < files) {
    complaints.push(`${tier.name}: ${files} test files on disk, ${results.length} in the report`);
  }
  if (total > passed + failed) complaints.push(`${tier.name}: ${total - passed - failed} tests did not run`);
  complaints.push(...looseErrors(tier, from));
  if (report.success !== true && failed + complaints.length === 0) {
    complaints.push(`${tier.name}: the runner reports no success`);
  }
  return { passed, failed: failed + complaints.length, complaints, failures: failuresIn(results, from) };
}

/**
 * One line for every error that no test owns: the runner fails for it, its report does not say so.
 * @param {import('./tiers.mjs').Tier} tier
 * @param {string} from the project's root
 * @returns {string[]}
 */
function looseErrors(tier, from) {
  const path = looseErrorsPath(tier, from);
  try {
    /** @type {{ kind: string, during: string, message: string, stack: string }[]} */
    const errors = JSON.parse(readFileSync(path, 'utf8'));
    return errors.map(({ kind, during, message, stack }) => {
      const frames = stack.split('\n').filter((line) => line.trimStart().startsWith('at '));
      const place = frames.find((line) => !line.includes('node_modules') && !line.includes('node:')) ?? frames[0] ?? '';
      return `${tier.name}: ${kind} during ${during || 'no test'}: ${message.split('\n')[0]} ${place.trim()}`;
    });
  } catch {
    return [`${tier.name}: no list of errors that no test owns at ${path}`];
  }
}

/**
 * @param {readonly FileResult[]} results
 * @param {string} from the project's root
 * @returns {string[]}
 */
function failuresIn(results, from) {
  return results.flatMap((result) =>
    (result.assertionResults ?? [])
      .filter((assertion) => assertion.status === 'failed')
      .map((assertion) => {
        const file = relative(from, String(result.name));
        const messages = Array.isArray(assertion.failureMessages) ? assertion.failureMessages : [];
        const said = String(messages[0] ?? '').split('\n')[0] ?? '';
        return `failed: ${file} > ${String(assertion.fullName)}: ${said}`;
      }),
  );
}

/** @param {readonly Totals[]} parts @returns {Totals} */
export function sum(parts) {
  return {
    passed: parts.reduce((total, part) => total + part.passed, 0),
    failed: parts.reduce((total, part) => total + part.failed, 0),
    complaints: parts.flatMap((part) => part.complaints),
    failures: parts.flatMap((part) => part.failures),
  };
}

// As a command: `node build/totals.mjs TIER… [--also-failed N]`; the last line it prints is the verdict.
if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const words = process.argv.slice(2);
  const also = words.indexOf('--also-failed');
  const alsoFailed = also < 0 ? 0 : Number(words[also + 1]);
  const names = also < 0 ? words : words.slice(0, also);
  const total = sum(names.map((name) => totalsOf(tierNamed(name))));
  for (const line of [...total.failures, ...total.complaints]) console.log(line);
  const failed = total.failed + alsoFailed;
  console.log(`${total.passed} passed, ${failed} failed`);
  process.exitCode = failed === 0 && total.passed > 0 ? 0 : 1;
}
