import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { looseErrorsPath, reportPath, testFileCount, tierNamed } from '../../../build/tiers.mjs';
import { sum, totalsOf } from '../../../build/totals.mjs';

const always = tierNamed('always');
const release = tierNamed('release');
let root = '';

beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'totals-'));
});
afterEach(() => {
  rmSync(root, { recursive: true, force: true });
});

function put(path: string, content: string): void {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, content);
}

function report(tier: typeof always, content: unknown): void {
  put(reportPath(tier, root), typeof content === 'string' ? content : JSON.stringify(content));
}

function counts(total: number, passed: number, failed: number, success: boolean) {
  return { numTotalTests: total, numPassedTests: passed, numFailedTests: failed, success };
}

function fileResult(status: 'passed' | 'failed', count = 1) {
  return { status, name: 'a.test.ts', assertionResults: Array.from({ length: count }, () => ({ status })) };
}

describe('totals of a tier', () => {
  beforeEach(() => {
    put(join(root, 'tests/unit/model/a.test.ts'), '');
    put(join(root, 'tests/unit/model/helper.ts'), '');
    put(looseErrorsPath(always, root), '[]');
  });

  it('are what the runner reports', () => {
    report(always, { ...counts(7, 7, 0, true), testResults: [fileResult('passed', 7)] });
    expect(totalsOf(always, root)).toEqual({ passed: 7, failed: 0, complaints: [], failures: [] });
  });

  it('count failed tests', () => {
    report(always, { ...counts(7, 5, 2, false), testResults: [fileResult('failed', 7)] });
    expect(totalsOf(always, root)).toMatchObject({ passed: 5, failed: 2, complaints: [] });
  });

  it('name every failed test with what it said first', () => {
    const failed = {
      status: 'failed',
      name: join(root, 'tests/unit/model/a.test.ts'),
      assertionResults: [
        { status: 'passed', fullName: 'a dwell is usable', failureMessages: [] },
        {
          status: 'failed',
          fullName: 'a dwell ends in time',
          failureMessages: ['AssertionError: expected 3 to be 2\n    at a.test.ts:7'],
        },
      ],
    };
    report(always, { ...counts(2, 1, 1, false), testResults: [failed] });
    expect(totalsOf(always, root).failures).toEqual([
      'failed: tests/unit/model/a.test.ts > a dwell ends in time: AssertionError: expected 3 to be 2',
    ]);
  });

  it.each([
    ['no report at all', null, /did not finish/],
    ['a torn report', '{"numTotalTests": 3', /not JSON/],
    ['an empty report', '', /not JSON/],
    ['a report without totals', {}, /no totals/],
    [
      'a report of no test',
      { ...counts(0, 0, 0, true), testResults: [fileResult('passed', 0)] },
      /found no test/,
    ],
    [
      'a report without one of the files on disk',
      { ...counts(0, 0, 0, true), testResults: [] },
      /1 test files on disk, 0 in the report/,
    ],
    [
      'a test file that could not be loaded',
      { ...counts(0, 0, 0, false), testResults: [fileResult('failed', 0)] },
      /a\.test\.ts could not be run/,
    ],
    [
      'tests that did not run',
      { ...counts(3, 2, 0, true), testResults: [fileResult('passed', 3)] },
      /1 tests did not run/,
    ],
    [
      'an error outside any test',
      { ...counts(2, 2, 0, false), testResults: [fileResult('passed', 2)] },
      /no success/,
    ],
  ])('count %s as a failure', (_, content, complaint) => {
    if (content !== null) report(always, content);
    const totals = totalsOf(always, root);
    expect(totals.failed).toBeGreaterThan(0);
    expect(totals.complaints.join('\n')).toMatch(complaint);
  });
});

describe('errors that no test owns', () => {
  beforeEach(() => {
    put(join(root, 'tests/unit/model/a.test.ts'), '');
    report(always, { ...counts(7, 7, 0, true), testResults: [fileResult('passed', 7)] });
  });

  it('fail the tier though the runner reports success, and are named', () => {
    const error = {
      kind: 'Unhandled Rejection',
      during: 'tests/unit/model/a.test.ts > a dwell ends',
      message: 'the port is gone\nand more',
      stack: 'Error: the port is gone\n    at node:internal/x:1\n    at driven (tests/support/drive.ts:7:3)',
    };
    put(looseErrorsPath(always, root), JSON.stringify([error]));
    expect(totalsOf(always, root)).toEqual({
      passed: 7,
      failed: 1,
      complaints: [
        'always: Unhandled Rejection during tests/unit/model/a.test.ts > a dwell ends: the port is gone ' +
          'at driven (tests/support/drive.ts:7:3)',
      ],
      failures: [],
    });
  });

  it.each([
    ['absent', null],
    ['torn', '[{'],
  ])('fail the tier when their list is %s', (_, content) => {
    if (content !== null) put(looseErrorsPath(always, root), content);
    expect(totalsOf(always, root).complaints.join()).toMatch(/no list of errors/);
  });
});

describe('a tier without tests', () => {
  it('is nothing when it may be empty', () => {
    expect(totalsOf(release, root)).toEqual({ passed: 0, failed: 0, complaints: [], failures: [] });
  });

  it('is a failure when it may not', () => {
    expect(totalsOf(always, root).failed).toBe(1);
  });

  it('is a failure as soon as it has a test and no report', () => {
    put(join(root, 'tests/release/soak/hours.test.ts'), '');
    expect(testFileCount(release, root)).toBe(1);
    expect(totalsOf(release, root).failed).toBe(1);
  });
});

describe('the sum', () => {
  it('adds numbers and keeps complaints', () => {
    const parts = [
      { passed: 3, failed: 1, complaints: ['one'], failures: ['two'] },
      { passed: 4, failed: 0, complaints: [], failures: [] },
    ];
    expect(sum(parts)).toEqual({ passed: 7, failed: 1, complaints: ['one'], failures: ['two'] });
  });

  it('of nothing is nothing', () => {
    expect(sum([])).toEqual({ passed: 0, failed: 0, complaints: [], failures: [] });
  });
});

describe('a tier that does not exist', () => {
  it('is refused by name', () => {
    expect(() => tierNamed('never')).toThrow(/No tier 'never'/);
    expect(() => tierNamed(undefined)).toThrow(/always, landing, release/);
  });
});
