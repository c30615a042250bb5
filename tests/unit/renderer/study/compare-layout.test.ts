import { describe, expect, it } from 'vitest';
import { pointAt, studyPlot, type StudyPlot } from '../../../../renderer/study/compare-layout.ts';
import { studyWords } from '../../../../renderer/words/study.ts';
import { madeUpStudies } from '../../../support/screens/made-up-study.ts';

function plotOf(file: string, width = 1000): StudyPlot {
  const view = madeUpStudies().find((one) => one.file === `${file}.chamberside`);
  if (view === undefined) throw new Error(`no study ${file}`);
  return studyPlot(view, width);
}

describe('studyPlot', () => {
  it.each(['coveralls', 'four', 'thousand', 'one'])('keeps every point and interval of %s on the axis', (file) => {
    for (const width of [640, 900, 1400]) {
      const plot = plotOf(file, width);
      for (const { x, y } of plot.points) {
        expect(x).toBeGreaterThanOrEqual(plot.left);
        expect(x).toBeLessThanOrEqual(plot.right);
        expect(y).toBeGreaterThan(plot.top);
        expect(y).toBeLessThan(plot.foot);
      }
      for (const { mean } of plot.bands.flatMap(({ rows }) => rows)) {
        if (mean === null) continue;
        expect(mean.low).toBeGreaterThanOrEqual(plot.left);
        expect(mean.low).toBeLessThanOrEqual(mean.x);
        expect(mean.high).toBeGreaterThanOrEqual(mean.x);
        expect(mean.high).toBeLessThanOrEqual(plot.right);
      }
    }
  });

  it('draws every counted trial once in every band', () => {
    const plot = plotOf('thousand');
    expect(plot.bands).toHaveLength(6);
    expect(plot.points).toHaveLength(6000);
    expect(plot.bands[0]?.subjectLines.split('M')).toHaveLength(501);
  });

  it('begins the axis below the detection limit, and puts what is below it beside the limit', () => {
    const plot = plotOf('thousand');
    const hood = plot.bands[1];
    const below = hood?.rows.flatMap(({ points }) => points.filter((point) => point.below)) ?? [];
    expect(hood?.limitX).toBeGreaterThan(plot.left);
    expect(below.length).toBe(hood?.rows.reduce((sum, row) => sum + row.below, 0));
    expect(below.length).toBeGreaterThan(0);
    for (const { x } of below) expect(x).toBeLessThan(hood?.limitX ?? 0);
  });

  it('labels ticks only where they have room, and rising', () => {
    for (const file of ['coveralls', 'four', 'thousand']) {
      for (const { ticks } of [plotOf(file), plotOf(file, 640)]) {
        const labelled = ticks.filter((tick) => tick.labelled).sort((one, other) => one.x - other.x);
        expect(labelled.length).toBeGreaterThan(1);
        for (const [index, tick] of labelled.slice(1).entries()) {
          expect(tick.x - (labelled[index]?.x ?? 0)).toBeGreaterThanOrEqual(46);
          expect(tick.value).toBeGreaterThan(labelled[index]?.value ?? 0);
        }
      }
    }
  });

  it('holds several ensembles against the first, a row each', () => {
    const rows = plotOf('four').ratios?.rows.filter(({ probe }) => probe === 'hood') ?? [];
    expect(rows.map(({ upper }) => upper)).toEqual(['Elastic cuffs, taped', 'Knitted cuffs', 'Welded gloves']);
    expect(new Set(rows.map(({ y }) => y)).size).toBe(3);
    expect(plotOf('one').ratios).toBeNull();
  });

  it('finds the trial under the pointer, and none beside', () => {
    const plot = plotOf('coveralls');
    const [point] = plot.points;
    expect(pointAt(plot, (point?.x ?? 0) + 3, (point?.y ?? 0) - 2)?.trial).toBe(point?.trial);
    expect(pointAt(plot, 2, 2)).toBeNull();
  });
});

describe('the sentence of a study', () => {
  const ratio = { lower: 'A', upper: 'B', probability: 0.01, method: 'paired', subjects: 6, below: 0 } as const;

  it('says which leaks more, and how sure that is', () => {
    expect(studyWords.statement({ ...ratio, ratio: 2, low: 1.5, high: 2.6 }, 0.95)).toBe(
      'B leaks 2.0 times as much as A (1.5 to 2.6, 95\u00a0% sure).',
    );
  });

  it('is turned round where the first leaks more', () => {
    expect(studyWords.statement({ ...ratio, ratio: 0.5, low: 0.4, high: 0.8 }, 0.95)).toBe(
      'A leaks 2.0 times as much as B (1.3 to 2.5, 95\u00a0% sure).',
    );
  });

  it('claims nothing where the interval holds 1', () => {
    expect(studyWords.statement({ ...ratio, ratio: 1.2, low: 0.8, high: 1.9 }, 0.95)).toMatch(/not told apart/);
  });
});
