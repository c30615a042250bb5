import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

export const root = join(import.meta.dirname, '..');

/**
 * One tier of tests: which folders hold it, which runner configuration runs it, whether it may hold nothing, whether
 * it needs programs of the landing tier, strace, faketime, R, pymodbus and mbpoll. Some of each drive a browser.
 * @typedef {object} Tier
 * @property {string} name
 * @property {readonly string[]} folders
 * @property {string} configuration
 * @property {boolean} mayBeEmpty
 * @property {boolean} needsTracer
 * @property {boolean} needsOtherClock
 * @property {boolean} needsR
 * @property {boolean} needsModbusPeers
 */

/** @type {readonly Tier[]} */
export const tiers = [
  {
    name: 'always',
    folders: ['tests/unit', 'tests/published', 'tests/contract', 'tests/integration', 'tests/end-to-end'],
    configuration: 'build/vitest.config.ts',
    mayBeEmpty: false,
    needsTracer: false,
    needsOtherClock: false,
    needsR: false,
    needsModbusPeers: false,
  },
  {
    name: 'landing',
    folders: ['tests/landing'],
    configuration: 'build/vitest.landing.config.ts',
    mayBeEmpty: false,
    needsTracer: true,
    needsOtherClock: true,
    needsR: true,
    needsModbusPeers: true,
  },
  {
    name: 'release',
    folders: ['tests/release'],
    configuration: 'build/vitest.release.config.ts',
    mayBeEmpty: true,
    needsTracer: false,
    needsOtherClock: true,
    needsR: false,
    needsModbusPeers: false,
  },
];

/**
 * @param {string | undefined} name
 * @returns {Tier}
 * @throws {Error} when there is no tier of that name
 */
export function tierNamed(name) {
  const tier = tiers.find((candidate) => candidate.name === name);
  if (tier === undefined) {
    throw new Error(`No tier '${name ?? ''}'; there are ${tiers.map((each) => each.name).join(', ')}.`);
  }
  return tier;
}

/**
 * How many test files a tier has on disk, counted without the runner.
 * @param {Tier} tier
 * @param {string} [from] the project's root
 */
export function testFileCount(tier, from = root) {
  return tier.folders
    .map((folder) => join(from, folder))
    .filter((folder) => existsSync(folder))
    .flatMap((folder) => readdirSync(folder, { recursive: true, encoding: 'utf8' }))
    .filter((file) => file.endsWith('.test.ts')).length;
}

/**
 * Where the runner writes the tier's report.
 * @param {Tier} tier
 * @param {string} [from] the project's root
 */
export function reportPath(tier, from = root) {
  return join(from, 'build/out/reports', `${tier.name}.json`);
}

/**
 * Where the errors of the tier are written that no test owns.
 * @param {Tier} tier
 * @param {string} [from] the project's root
 */
export function looseErrorsPath(tier, from = root) {
  return join(from, 'build/out/reports', `${tier.name}-loose-errors.json`);
}
