import { existsSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { scenarios } from '../../drivers/virtual-rig/index.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { recordedDwells } from '../../src/leakage/recorded-dwell.ts';
import { chamberside, chambersideJson, temporaryFolder } from '../support/command-line.ts';
import { agreement, mean, measured, rehearse, type PrintedCell, type PrintedRehearsal } from '../support/rehearsal.ts';

const folder = temporaryFolder();
const study = folder.file('demo.chamberside');
let demo: PrintedRehearsal;

beforeAll(async () => {
  demo = await rehearse(study, '--seed', '7', '--speed', '500');
});
afterAll(() => folder.clear());

describe('a rehearsal of the demo series', () => {
  it('prints every cell with both intervals, and counts', () => {
    expect(demo.trialId).toMatch(/^t-/);
    expect(demo.cells).toHaveLength(50);
    expect(demo.counts.readings).toBeGreaterThan(30_000);
    expect(demo.counts.dwells).toBe(80);
    expect(demo.counts.problems).toBe(0);
    for (const cell of demo.cells) {
      expect(cell.windowPercent).not.toBeNull();
      expect(cell.truthPercent).toBeGreaterThan(0);
      expect(cell.truthExercisePercent).toBeGreaterThan(0);
      const { windowExpandedPercent, windowHighPercent, windowLowPercent, windowPercent, windowStandardPercent } = cell;
      const half = windowExpandedPercent ?? Number.NaN;
      expect(half / (windowStandardPercent ?? Number.NaN)).toBeGreaterThan(1.95);
      expect((windowHighPercent ?? Number.NaN) - (windowPercent ?? 0)).toBeCloseTo(half, 12);
      expect((windowPercent ?? 0) - (windowLowPercent ?? Number.NaN)).toBeCloseTo(half, 12);
      expect(cell.exercisePercent).toBe(windowPercent);
      expect(cell.exerciseLowPercent ?? Number.NaN).toBeLessThan(windowLowPercent ?? 0);
      expect(cell.exerciseHighPercent ?? Number.NaN).toBeGreaterThan(windowHighPercent ?? 0);
    }
  });

  it('accounts for every byte of every instrument', () => {
    expect(Object.keys(demo.bytes)).toHaveLength(4);
    for (const account of Object.values(demo.bytes)) {
      expect(account.received).toBeGreaterThan(0);
      expect(account.accounted).toBe(account.received);
    }
  });

  it('agrees with the truth', () => {
    const result = agreement(demo.cells, 'seed 7');
    expect(result.outside).toEqual([]);
    expect(result.flagged / result.cells).toBeLessThanOrEqual(0.02);
    expect(result.relativeErrors.length).toBeGreaterThan(35);
    // One trial has one draw of the spatial factor, dilution and challenge, 1 % each: 5 % is three of them together.
    expect(Math.abs(mean(result.relativeErrors))).toBeLessThan(0.05);
  });

  it('puts each probe twice in every position of an exercise, and never the lowest after the highest', () => {
    for (const probe of new Set(demo.cells.map((cell) => cell.probe))) {
      const positions = demo.cells.filter((cell) => cell.probe === probe).map((cell) => cell.dwellPosition ?? 0);
      expect(positions.sort((one, other) => one - other)).toEqual([1, 1, 2, 2, 3, 3, 4, 4, 5, 5]);
    }
    for (const exercise of new Set(demo.cells.map((cell) => cell.exercise))) {
      const order = demo.cells
        .filter((cell) => cell.exercise === exercise)
        .sort((one, other) => (one.dwellPosition ?? 0) - (other.dwellPosition ?? 0))
        .map((cell) => cell.probe);
      expect(order.join(' ')).not.toContain('ankle hood');
    }
  });

  it('verifies as intact and sealed', async () => {
    const report = await chambersideJson<{ intact: boolean; trials: { sealed: boolean; links: number }[] }>(
      'verify',
      '--study',
      study,
    );
    expect(report.intact).toBe(true);
    expect(report.trials).toEqual([expect.objectContaining({ sealed: true, links: demo.counts.links })]);
  });

  it('is assessed to the same bits when the truth is gone', async () => {
    expect(existsSync(demo.truthFile)).toBe(true);
    rmSync(demo.truthFile);
    const again = await chambersideJson<{ cells: PrintedCell[] }>('assess', '--study', study, '--trial', demo.trialId);
    expect(measured(again.cells)).toEqual(measured(demo.cells));
    const twice = await chambersideJson<{ cells: PrintedCell[] }>('assess', '--study', study);
    expect(JSON.stringify(twice.cells)).toBe(JSON.stringify(again.cells));
  });
});

describe('the same physics', () => {
  it('gives identical cells at any speed', async () => {
    const slow = await rehearse(folder.file('slow.chamberside'), '--scenario', 'short', '--seed', '3', '--speed', '50');
    const fast = await rehearse(
      folder.file('fast.chamberside'),
      '--scenario',
      'short',
      '--seed',
      '3',
      '--speed',
      '500',
    );
    expect(measured(slow.cells)).toEqual(measured(fast.cells));
    expect(slow.counts).toEqual(fast.counts);
    expect(slow.timesRealTime).toBeLessThan(51);
  });

  it('gives other cells for another seed', async () => {
    const one = await rehearse(folder.file('seeds.chamberside'), '--scenario', 'short', '--seed', '3');
    const other = await rehearse(folder.file('seeds.chamberside'), '--scenario', 'short', '--seed', '4');
    expect(measured(one.cells)).not.toEqual(measured(other.cells));
  });

  it('leaks twice as much through twice the paths, in truth and result', async () => {
    const single = await rehearse(folder.file('single.chamberside'), '--seed', '11');
    const doubled = structuredClone(scenarios.demo) as { ensemble: { paths: { millilitresPerMinute: number }[] } };
    for (const path of doubled.ensemble.paths) path.millilitresPerMinute *= 2;
    const file = folder.file('doubled.json');
    writeFileSync(file, JSON.stringify(doubled));
    const twice = await rehearse(folder.file('twice.chamberside'), '--seed', '11', '--scenario', file);
    for (const [index, cell] of single.cells.entries()) {
      const other = twice.cells[index] as PrintedCell;
      const limit = Math.max(cell.detectionLimitPercent ?? 0, other.detectionLimitPercent ?? 0);
      expect((other.truthPercent ?? 0) / (cell.truthPercent ?? 1)).toBeCloseTo(2, 6);
      const expected = 2 * (cell.windowPercent ?? 0);
      expect(Math.abs((other.windowPercent ?? 0) - expected)).toBeLessThan(0.01 * expected + 3 * limit);
    }
  });

  it('shows a single doubled path at its own probe and hardly elsewhere', async () => {
    const single = await rehearse(folder.file('one.chamberside'), '--scenario', 'short', '--seed', '5');
    const doubled = structuredClone(scenarios.short) as {
      ensemble: { paths: { zone: string; millilitresPerMinute: number }[] };
    };
    for (const path of doubled.ensemble.paths) if (path.zone === 'ankle') path.millilitresPerMinute *= 2;
    const file = folder.file('ankle.json');
    writeFileSync(file, JSON.stringify(doubled));
    const twice = await rehearse(folder.file('ankle.chamberside'), '--seed', '5', '--scenario', file);
    const ratios = single.cells.map((cell, index) => ({
      probe: cell.probe,
      truth: (twice.cells[index]?.truthPercent ?? 0) / (cell.truthPercent ?? 1),
      result: (twice.cells[index]?.windowPercent ?? 0) / (cell.windowPercent ?? 1),
    }));
    for (const ratio of ratios.filter((entry) => entry.probe === 'ankle')) {
      expect(ratio.truth).toBeGreaterThan(1.8);
      expect(ratio.result / ratio.truth).toBeGreaterThan(0.93);
      expect(ratio.result / ratio.truth).toBeLessThan(1.07);
    }
    for (const ratio of ratios.filter((entry) => entry.probe === 'hood')) expect(ratio.truth).toBeLessThan(1.1);
  });
});

describe('faults during a rehearsal', () => {
  it('flags what a pulled photometer touched, and nothing else', async () => {
    // In the middle of a probe dwell of the second exercise of the short series.
    const scenario = structuredClone(scenarios.short) as unknown as { faults: unknown[] };
    scenario.faults = [
      { atSeconds: 115, fault: { fault: 'unplug', instrument: 'photometer', seconds: 3, newName: true } },
    ];
    const file = folder.file('unplug.json');
    writeFileSync(file, JSON.stringify(scenario));
    const study = folder.file('unplug.chamberside');
    const outcome = await chamberside('rehearse', '--study', study, '--scenario', file, '--json');
    const result = JSON.parse(outcome.stdout) as PrintedRehearsal;
    const flagged = result.cells.filter((cell) => cell.flagged);
    expect(flagged.length).toBeGreaterThanOrEqual(1);
    for (const cell of flagged) expect(cell.flags).toContain('gap');
    // By the record: the dwells whose air was on its way or read while nothing came, and every other cell.
    const record = readTrial(study, result.trialId);
    const at = record.streams.find(({ descriptor }) => descriptor.instrument === 'photometer')?.atMicroseconds;
    const times = [...(at ?? [])];
    const longest = times.reduce((most, time, index) => Math.max(most, time - (times[index - 1] ?? time)), 0);
    const behind = times.find((time, index) => time - (times[index - 1] ?? time) === longest) ?? Number.NaN;
    expect(longest).toBeGreaterThan(2.9e6);
    const lateMicroseconds = 5e6;
    const touched = recordedDwells(record.events).flatMap(({ beganAtMicroseconds, dwell, endedAtMicroseconds }) => {
      const isOver = (endedAtMicroseconds ?? Number.POSITIVE_INFINITY) + lateMicroseconds < behind - longest;
      return isOver || beganAtMicroseconds > behind ? [] : [`${dwell.exercise ?? ''} ${dwell.probe}`];
    });
    const others = result.cells.filter(({ exercise, probe }) => !touched.includes(`${exercise} ${probe}`));
    expect(others.length).toBeGreaterThanOrEqual(result.cells.length - 2);
    for (const { exercise, flags, probe } of others) {
      expect(flags.filter((flag) => flag !== 'below-detection-limit'), `${exercise} ${probe}`).toEqual([]);
    }
    expect(result.counts.problems).toBeGreaterThanOrEqual(2);
    expect(result.counts.alarms).toBeGreaterThanOrEqual(1);
    expect(agreement(result.cells, 'unplug').outside).toEqual([]);
  });

  it('never calls a blocked line a good result', async () => {
    // Blocked after its background was read: what is missing is the ensemble's own dust.
    const scenario = structuredClone(scenarios.demo) as unknown as { faults: unknown[] };
    scenario.faults = [{ atSeconds: 140, fault: { fault: 'line-blocked', probe: 'thigh', seconds: 10_000 } }];
    const file = folder.file('blocked.json');
    writeFileSync(file, JSON.stringify(scenario));
    const study = folder.file('blocked.chamberside');
    const outcome = await chamberside('rehearse', '--study', study, '--scenario', file, '--seed', '7', '--json');
    const result = JSON.parse(outcome.stdout) as PrintedRehearsal;
    const thigh = result.cells.filter((cell) => cell.probe === 'thigh');
    for (const cell of thigh)
      expect(cell.flags.some((flag) => flag === 'below-detection-limit' || cell.flagged)).toBe(true);
    expect(thigh.filter((cell) => cell.flags.includes('below-zero')).length).toBeGreaterThanOrEqual(5);
    expect(result.cells.filter((cell) => cell.flagged && cell.probe !== 'thigh')).toEqual([]);
  });

  it.each([1, 2, 3])('never calls a line that was blocked from the start a good result, seed %i', async (seed) => {
    // Background and windows alike read filtered air: nothing is missing, and nothing was ever there.
    const scenario = structuredClone(scenarios.short) as unknown as { faults: unknown[] };
    scenario.faults = [{ atSeconds: 0, fault: { fault: 'line-blocked', probe: 'thigh', seconds: 10_000 } }];
    const file = folder.file(`blocked-from-the-start-${seed}.json`);
    writeFileSync(file, JSON.stringify(scenario));
    const study = folder.file(`blocked-from-the-start-${seed}.chamberside`);
    const words = ['--study', study, '--scenario', file, '--seed', String(seed), '--json'];
    const result = JSON.parse((await chamberside('rehearse', ...words)).stdout) as PrintedRehearsal;
    const thigh = result.cells.filter((cell) => cell.probe === 'thigh');
    expect(thigh.length).toBeGreaterThan(0);
    for (const cell of thigh) expect(cell.flags).toContain('no-flow');
    expect(result.cells.filter((cell) => cell.flagged && cell.probe !== 'thigh')).toEqual([]);
  });

  it.each([
    ['from the start, and freed in the last exercises', 5, 'thigh', 0, 1400],
    ['only while the background was read', 2300, 'hood', 0, 150],
    ['in the middle', 9, 'hood', 500, 600],
    ['within one window', 135, 'ankle', 1331, 48],
    ['in the last third', 12, 'chest', 1150, 5_000],
  ])('flags what a line gave that was blocked %s', async (_, seed, probe, atSeconds, seconds) => {
    const scenario = structuredClone(scenarios.demo) as unknown as { faults: unknown[] };
    scenario.faults = [{ atSeconds, fault: { fault: 'line-blocked', probe, seconds } }];
    const file = folder.file(`blocked-at-${atSeconds}-${seed}.json`);
    writeFileSync(file, JSON.stringify(scenario));
    const study = folder.file(`blocked-at-${atSeconds}-${seed}.chamberside`);
    const words = ['--study', study, '--scenario', file, '--seed', String(seed), '--json'];
    const { cells } = JSON.parse((await chamberside('rehearse', ...words)).stdout) as PrintedRehearsal;
    expect(cells).toHaveLength(50);
    expect(agreement(cells, probe).outside).toEqual([]);
    expect(cells.filter((cell) => cell.probe === probe && cell.flags.includes('no-flow')).length).toBeGreaterThan(0);
    expect(cells.filter((cell) => cell.probe !== probe && cell.flags.includes('no-flow'))).toEqual([]);
  });

  it('flags a cell whose line was freed as its window began', async () => {
    const scenario = structuredClone(scenarios.short) as unknown as { faults: unknown[] };
    scenario.faults = [{ atSeconds: 67, fault: { fault: 'line-blocked', probe: 'ankle', seconds: 12.6 } }];
    const file = folder.file('freed.json');
    writeFileSync(file, JSON.stringify(scenario));
    const words = ['--study', folder.file('freed.chamberside'), '--scenario', file, '--seed', '9', '--json'];
    const { cells } = JSON.parse((await chamberside('rehearse', ...words)).stdout) as PrintedRehearsal;
    const flagged = cells.filter((cell) => cell.flagged).map(({ exercise, probe, flags }) => [exercise, probe, flags]);
    expect(flagged).toEqual([['march', 'ankle', ['no-flow']]]);
    expect(agreement(cells, 'freed').outside).toEqual([]);
  });

  it('does not doubt a line through which little background comes, where its leakage is much more', async () => {
    const scenario = structuredClone(scenarios.demo) as unknown as {
      ensemble: { zones: { probe: string; backgroundPercent: number }[] };
    };
    for (const zone of scenario.ensemble.zones) if (zone.probe === 'ankle') zone.backgroundPercent *= 0.3;
    const file = folder.file('little-background.json');
    writeFileSync(file, JSON.stringify(scenario));
    const study = folder.file('little-background.chamberside');
    const { cells } = await rehearse(study, '--scenario', file, '--seed', '2038');
    expect(cells.filter((cell) => cell.flagged)).toEqual([]);
    expect(agreement(cells, 'little background').outside).toEqual([]);
  });

  it.each([
    ['no leak at all', 0],
    ['leaks a thousandth of the usual', 0.001],
  ])('takes an ensemble with %s for what it is', async (_, share) => {
    const scenario = structuredClone(scenarios.demo) as unknown as {
      ensemble: { paths: { millilitresPerMinute: number }[] };
    };
    for (const path of scenario.ensemble.paths) path.millilitresPerMinute *= share;
    const file = folder.file(`tight-${share}.json`);
    writeFileSync(file, JSON.stringify(scenario));
    const study = folder.file(`tight-${share}.chamberside`);
    const outcome = await chamberside('rehearse', '--study', study, '--scenario', file, '--seed', '3', '--json');
    const result = JSON.parse(outcome.stdout) as PrintedRehearsal;
    expect(result.cells).toHaveLength(50);
    // Nothing lies three standard uncertainties below nothing but by chance: one cell in 740, and drift adds to it.
    const flagged = result.cells.filter((cell) => cell.flagged);
    expect(flagged.length).toBeLessThanOrEqual(1);
    for (const cell of flagged) expect(cell.flags).toEqual(['below-detection-limit', 'below-zero']);
    expect(agreement(result.cells, `tight ${share}`).outside).toEqual([]);
    const below = result.cells.filter((cell) => cell.flags.includes('below-detection-limit'));
    expect(below.length).toBeGreaterThanOrEqual(40);
  });

  it.each(['never', 'wrong'])(
    'flags the cells of a valve that answers: %s, and counts and raises it',
    async (behaviour) => {
      const scenario = structuredClone(scenarios.short) as unknown as { faults: unknown[] };
      scenario.faults = [{ atSeconds: 110, fault: { fault: 'valve', behaviour, seconds: 20 } }];
      const file = folder.file(`valve-${behaviour}.json`);
      writeFileSync(file, JSON.stringify(scenario));
      const study = folder.file(`valve-${behaviour}.chamberside`);
      const outcome = await chamberside('rehearse', '--study', study, '--scenario', file, '--json');
      const result = JSON.parse(outcome.stdout) as PrintedRehearsal;
      const flagged = result.cells.filter((cell) => cell.flagged);
      expect(flagged.length).toBeGreaterThanOrEqual(2);
      expect(flagged.some((cell) => cell.flags.includes('port-unconfirmed'))).toBe(true);
      expect(agreement(result.cells, 'valve').outside).toEqual([]);

      const { events } = readTrial(study, result.trialId);
      const unconfirmed = events.filter((event) => event.kind === 'port-unconfirmed');
      const raised = events.filter((event) => event.kind === 'alarm-raised' && event.alarm === 'valve-unconfirmed');
      const cleared = events.filter((event) => event.kind === 'alarm-cleared' && event.alarm === 'valve-unconfirmed');
      expect(unconfirmed.length).toBeGreaterThanOrEqual(2);
      expect(raised.length).toBeGreaterThanOrEqual(1);
      expect(raised[0]).toMatchObject({ instrument: 'selector', atMicroseconds: unconfirmed[0]?.atMicroseconds });
      // The fault lasts 20 s of the trial: at its end the valve is believed again.
      expect(cleared).toHaveLength(raised.length);
      expect(result.counts.problems).toBeGreaterThanOrEqual(unconfirmed.length);
      expect(result.counts.alarms).toBeGreaterThanOrEqual(raised.length);
    },
  );
});

describe('what is wrong is found before anything is made', () => {
  const impossible = folder.file('impossible.json');
  const unwired = folder.file('unwired.json');
  beforeAll(() => {
    const scenario = structuredClone(scenarios.short) as unknown as Record<string, unknown>;
    writeFileSync(impossible, JSON.stringify({ ...scenario, series: { name: 'nothing' } }));
    writeFileSync(unwired, '{ not JSON');
  });

  it.each([
    ['usage-bad-value', 2, ['--scenario', 'nonsense']],
    ['file-not-found', 1, ['--scenario', './nowhere.json']],
    ['configuration-invalid', 1, ['--scenario', impossible]],
    ['configuration-invalid', 1, ['--scenario', unwired]],
    ['usage-bad-value', 2, ['--seed', '-1']],
    ['usage-bad-value', 2, ['--seed', '1e3']],
    ['usage-bad-value', 2, ['--seed', '0x10']],
    ['usage-bad-value', 2, ['--seed', '']],
    ['usage-bad-value', 2, ['--subject', '']],
    ['usage-bad-value', 2, ['--ensemble', ' ']],
    ['usage-bad-value', 2, ['--operator', '']],
    ['usage-bad-value', 2, ['--study', '']],
  ])('%s ends with %i: %j', async (code, status, words) => {
    const empty = temporaryFolder();
    const study = words.includes('--study') ? [] : ['--study', empty.file('a.chamberside')];
    const outcome = await chamberside('rehearse', ...study, '--wire', 'none', ...words);
    expect(outcome.status).toBe(status);
    expect(outcome.stderr).toMatch(new RegExp(`^${code}: `));
    expect(outcome.stderr).not.toMatch(/ambiguous|argument|\n {4}at /);
    expect(readdirSync(empty.path)).toEqual([]);
    empty.clear();
  });

  it('a folder that is not there is not made', async () => {
    const empty = temporaryFolder();
    const outcome = await chamberside('rehearse', '--study', empty.file('typo/a.chamberside'), '--scenario', 'short');
    expect(outcome.status).toBe(1);
    expect(outcome.stderr).toBe(
      `file-not-found: There is no such folder (${empty.file('typo')}). Make the folder first, or correct the path.\n`,
    );
    expect(readdirSync(empty.path)).toEqual([]);
    empty.clear();
  });
});

describe('the command line', () => {
  it.each([
    [['rehearse', '--speed', 'fast'], 2],
    [['rehearse', '--nonsense'], 2],
    [['rehearse', '--wire', 'pty', '--speed', '5'], 2],
    [['assess'], 2],
    [['launch'], 2],
    [[], 2],
    [['verify', '--study', 'does-not-exist.chamberside'], 1],
    [['rehearse', '--resume', '--study', 'does-not-exist.chamberside'], 1],
    [['rehearse', '--help'], 0],
    [['--version'], 0],
  ])('%j ends with %i and says why', async (words, status) => {
    const outcome = await chamberside(...words);
    expect(outcome.status).toBe(status);
    expect((status === 0 ? outcome.stdout : outcome.stderr + outcome.stdout).length).toBeGreaterThan(5);
    expect(outcome.stderr).not.toMatch(/\n {4}at /);
  });
});
