import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { afterAll, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../../support/command-line.ts';
import { allowance, distributionRows, ownValue } from '../../support/r/distribution-rows.ts';
import { bootstrapRows, endsApart } from '../../support/r/bootstrap-rows.ts';
import { planFiguresApart, planRows } from '../../support/r/plan-rows.ts';
import { exportedSteps, fitsApart, fitsOfR, ownFit, stepColumns, stepLines } from '../../support/r/step-rows.ts';
import { figuresApart, figuresOfR, generatedSets, readSets, setLines } from '../../support/r/study-rows.ts';
import { rigFalls, rigWith } from '../../support/rig-steps.ts';

const root = new URL('../../../', import.meta.url).pathname;
const folder = temporaryFolder();
afterAll(folder.clear);

/** What an R script of this folder prints. */
function fromR(script: string, ...words: string[]): string {
  const run = spawnSync('Rscript', ['--vanilla', `${root}tests/landing/r/${script}`, ...words], { encoding: 'utf8' });
  if (run.error !== undefined || run.status !== 0) {
    const why = run.error?.message ?? run.stderr;
    throw new Error(`R could not compute: ${why} Install it ('apt-get install r-base-core' as root on Debian).`);
  }
  return run.stdout;
}

describe('R computes again, now', () => {
  it('what was recorded of distributions, and what the program has', () => {
    const rows = distributionRows(fromR('distributions.R'));
    const recorded = distributionRows(readFileSync(`${root}fixtures/r/distributions.csv`, 'utf8'));
    expect(rows.length).toBeGreaterThan(1000);
    expect(rows.map(({ name, at, parameters }) => [name, at, parameters])).toEqual(
      recorded.map(({ name, at, parameters }) => [name, at, parameters]),
    );
    const apart = rows.filter((row) => !(Math.abs(ownValue(row) - row.expected) <= allowance(row)));
    expect(apart).toEqual([]);
  });

  it('what was recorded of plans of studies, and what the program has', () => {
    const rows = planRows(fromR('plan.R'));
    const recorded = planRows(readFileSync(`${root}fixtures/r/plan.csv`, 'utf8'));
    const asked = (all: typeof rows): unknown[] => all.map((row) => ({ ...row, value: 0 }));
    expect(asked(rows)).toEqual(asked(recorded));
    expect(planFiguresApart(rows)).toEqual([]);
  });

  it('intervals by the bootstrap, within what both draws leave open', () => {
    const file = `${root}fixtures/r/study-sets.csv`;
    const sets = readSets(readFileSync(file, 'utf8'));
    const rows = bootstrapRows(fromR('bootstrap.R', file));
    expect(rows).toHaveLength(5);
    for (const row of rows) for (const apart of endsApart(row, sets, 2)) expect(apart).toBeLessThan(4.5);
  });

  it('the recorded step fits', () => {
    const file = `${root}fixtures/r/steps.csv`;
    const fits = fitsOfR(fromR('step-fit.R', file));
    const steps = exportedSteps(readFileSync(file, 'utf8'));
    expect(fits.size).toBe(steps.length);
    for (const step of steps) expect(fitsApart(ownFit(step), fits.get(step.step) ?? [])).toBeLessThan(1e-9);
  });

  it('the fits of fresh falls, from exported readings', () => {
    const lines = [stepColumns];
    for (const [dispersion, timeConstant] of [
      [0.1, 0.3],
      [0.2, 1],
      [0.33, 1],
    ] as const) {
      const { steps } = rigFalls(rigWith(dispersion, timeConstant), 31, 3);
      for (const [index, readings] of steps.entries()) {
        const step = `${dispersion}-${timeConstant}-${index}`;
        lines.push(...stepLines({ step, transitSeconds: 1, timeConstantSeconds: timeConstant, readings }));
      }
    }
    const file = folder.file('fresh.csv');
    writeFileSync(file, `${lines.join('\n')}\n`);
    const fits = fitsOfR(fromR('step-fit.R', file));
    const steps = exportedSteps(lines.join('\n'));
    expect(steps).toHaveLength(9);
    for (const step of steps) expect(fitsApart(ownFit(step), fits.get(step.step) ?? [])).toBeLessThan(1e-9);
  });

  it('the recorded figures of studies', () => {
    const file = `${root}fixtures/r/study-sets.csv`;
    const sets = readSets(readFileSync(file, 'utf8'));
    const figures = figuresOfR(fromR('study.R', file));
    // Without the package survival the likelihood is climbed by nlminb, which stops a little earlier.
    expect(figures.size).toBeGreaterThan(150);
    expect(figuresApart(figures, sets, 1e-6)).toEqual([]);
  });

  it('a hundred fresh sets of leakages below limits, and fresh contrasts and components', () => {
    const file = folder.file('sets.csv');
    const sets = generatedSets(2026, 110);
    writeFileSync(file, setLines(sets));
    const censored = new Set(sets.filter(({ kind }) => kind === 'censored').map(({ set }) => set));
    expect(censored.size).toBeGreaterThanOrEqual(100);
    const figures = figuresOfR(fromR('study.R', file));
    expect(figures.size).toBeGreaterThan(450);
    expect(figuresApart(figures, sets, 1e-6)).toEqual([]);
  });
});
