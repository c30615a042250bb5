import { describe, expect, it } from 'vitest';
import { pointAt, studyPlot, type StudyPlot } from '../../../../renderer/study/compare-layout.ts';
import { isVirtualStudy } from '../../../../renderer/study/virtual-study.ts';
import { studyWords } from '../../../../renderer/words/study.ts';
import type { StudyView } from '../../../../src/bridge/study.ts';
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

  it('is followed by what it is: the ratio of geometric means of these subjects', () => {
    const figure = { ...ratio, ratio: 2, low: 1.5, high: 2.6 };
    expect(studyWords.pairsOf(figure)).toBe('ratio of geometric means of these 6 subjects, paired');
    expect(studyWords.pairsOf({ ...figure, method: 'paired-censored', below: 2 })).toBe(
      'ratio of geometric means of these 6 subjects, paired, 2 below the limit: approximate',
    );
    expect(studyWords.pairsOf({ ...figure, method: 'unpaired' })).toBe(
      'ratio of geometric means of these 6 subjects, of whom nobody wore both',
    );
  });
});

describe('what is said beside the picture', () => {
  it('makes a tolerance limit one of such wearers, if leakage is lognormal', () => {
    expect(studyWords.tolerance(0.5, 0.8, 0.9)).toBe(
      'Below 0.50 % for 80\u00a0% of such wearers, 90\u00a0% sure if leakage is lognormal.',
    );
  });

  it('counts checks beyond two, and says that a bound holds whatever cannot be told', () => {
    expect(studyWords.checks(['zero', 'span', 'belts', 'clocks'])).toBe(
      'check overdue or failed: zero; span and 2 more',
    );
    expect(studyWords.reviewed({ person: 'rita', leftOut: 1 })).toBe('by reviewer rita, 1 left out');
    expect(studyWords.open(1, true)).toBe('Of 1 subject it cannot be told; the bound holds either way.');
    expect(studyWords.open(2, false)).toBe('Of 2 subjects it cannot be told.');
  });
});

describe('isVirtualStudy', () => {
  const study = (unlike: Partial<StudyView['summary']['roster'][number]>): StudyView => {
    const view = madeUpStudies().find(({ file }) => file === 'coveralls.chamberside');
    if (view === undefined) throw new Error('no study of coveralls');
    const roster = view.summary.roster.map((row, index) => ({ ...row, virtual: true, ...(index > 0 ? {} : unlike) }));
    return { ...view, summary: { ...view.summary, roster } };
  };

  it('asks the trials in the figures: a real one beside them takes no mark away', () => {
    expect(isVirtualStudy(study({}))).toBe(true);
    expect(isVirtualStudy(study({ virtual: false, leftOut: 'no-result' }))).toBe(true);
    expect(isVirtualStudy(study({ virtual: false }))).toBe(false);
  });

  it('asks all where none is in the figures', () => {
    const bare = study({});
    const none = (rows: typeof bare.summary.roster): StudyView => {
      const roster = rows.map((row) => ({ ...row, leftOut: 'not-assessed' as const }));
      return { ...bare, summary: { ...bare.summary, roster } };
    };
    expect(isVirtualStudy(none(bare.summary.roster))).toBe(true);
    expect(isVirtualStudy(none([]))).toBe(false);
  });
});
