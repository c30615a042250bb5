import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { scenarios, type Scenario } from '../../drivers/virtual-rig/index.ts';
import { chambersideHere as chamberside, type PrintedOutcome } from '../support/command-in-process.ts';
import { startChamberside, temporaryFolder } from '../support/command-line.ts';
import type { PrintedRehearsal } from '../support/rehearsal.ts';

/** What ran to its end and exits with 1 says in one line why. */
const folder = temporaryFolder();
const study = folder.file('silent.chamberside');
const scenario = folder.file('silent.json');
let rehearsed: PrintedOutcome;
let trial = '';

beforeAll(async () => {
  // Nothing is read while the first exercise lasts.
  const silence = { fault: 'wire', instrument: 'photometer', wire: { fault: 'silence', seconds: 45 } } as const;
  const silent: Scenario = { ...scenarios.short, name: 'silent', faults: [{ atSeconds: 62, fault: silence }] };
  writeFileSync(scenario, JSON.stringify(silent));
  rehearsed = await chamberside('rehearse', '--study', study, '--scenario', scenario, '--json');
  trial = (JSON.parse(rehearsed.stdout) as PrintedRehearsal).trialId;
});
afterAll(() => folder.clear());

const linesOf = ({ stderr }: PrintedOutcome): string[] =>
  stderr.split('\n').filter((line) => line.startsWith('Exit status 1: '));

describe('cells without a value', () => {
  it('are counted and named by a rehearsal', () => {
    const { cells } = JSON.parse(rehearsed.stdout) as PrintedRehearsal;
    const missing = cells.filter((cell) => cell.windowPercent === null);
    expect(missing.length).toBeGreaterThan(0);
    expect(rehearsed.status).toBe(1);
    expect(linesOf(rehearsed)).toHaveLength(1);
    expect(linesOf(rehearsed)[0]).toContain(`${missing.length} of ${cells.length} cells have no value: `);
    const [first] = missing;
    expect(linesOf(rehearsed)[0]).toContain(`${first?.exercise} ${first?.probe} (`);
  });

  it.each([[[]], [['--json']]])('are counted and named by an assessment %j', async (words) => {
    const outcome = await chamberside('assess', '--dry', '--study', study, ...words);
    expect(outcome.status).toBe(1);
    expect(linesOf(outcome)).toEqual(linesOf(rehearsed));
  });

  it.each([[[]], [['--json']]])('say why they have none when explained %j', async (words) => {
    const { cells } = JSON.parse(rehearsed.stdout) as PrintedRehearsal;
    const missing = cells.find((cell) => cell.windowPercent === null);
    const place = ['--exercise', missing?.exercise ?? '', '--probe', missing?.probe ?? ''];
    const outcome = await chamberside('explain', '--study', study, ...place, ...words);
    expect(outcome.status).toBe(1);
    expect(linesOf(outcome)).toHaveLength(1);
    expect(linesOf(outcome)[0]).toMatch(
      new RegExp(`^Exit status 1: ${missing?.exercise} ${missing?.probe} \\(.+\\) has no value\\.$`),
    );
  });

  it('say nothing of a cell that has one', async () => {
    const { cells } = JSON.parse(rehearsed.stdout) as PrintedRehearsal;
    const good = cells.find((cell) => cell.windowPercent !== null);
    const place = ['--exercise', good?.exercise ?? '', '--probe', good?.probe ?? ''];
    const outcome = await chamberside('explain', '--study', study, '--trial', trial, ...place);
    expect(outcome.status).toBe(0);
    expect(linesOf(outcome)).toEqual([]);
  });
});

describe('a rehearsal without one cell beyond doubt', () => {
  it('says that nothing can be held against the truth', async () => {
    const wrong: Scenario = {
      ...scenarios.short,
      name: 'wrong',
      faults: [{ atSeconds: 60, fault: { fault: 'valve', behaviour: 'never', seconds: 500 } }],
    };
    const file = folder.file('wrong.json');
    writeFileSync(file, JSON.stringify(wrong));
    const outcome = await chamberside('rehearse', '--study', folder.file('wrong.chamberside'), '--scenario', file);
    expect(outcome.status).toBe(1);
    expect(linesOf(outcome)).toHaveLength(1);
    expect(linesOf(outcome)[0]).toContain('no cell without doubt can be held against the truth');
  });
});

describe('a rehearsal that is gone on with', () => {
  it('says which cells its break has cost', async () => {
    const broken = folder.file('broken.chamberside');
    // Paced, so that the interruption falls into the middle of it.
    const words = ['rehearse', '--study', broken, '--scenario', scenario, '--speed', '40', '--progress'];
    const { child, ended } = startChamberside(words);
    const interrupt = (text: string): void => {
      if (!text.includes('"exercise":"crawl"')) return;
      child.stderr?.off('data', interrupt);
      child.kill('SIGINT');
    };
    child.stderr?.on('data', interrupt);
    expect((await ended).stderr).toContain('trial-not-finished: ');
    const resumed = await chamberside('rehearse', '--study', broken, '--resume', '--json');
    const { cells } = JSON.parse(resumed.stdout) as PrintedRehearsal;
    const missing = cells.filter((cell) => cell.windowPercent === null);
    expect(missing.length).toBeGreaterThan(0);
    expect(resumed.status).toBe(1);
    expect(linesOf(resumed)).toHaveLength(1);
    expect(linesOf(resumed)[0]).toContain(`${missing.length} of ${cells.length} cells have no value: `);
  });
});
