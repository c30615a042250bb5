import { describe, expect, it } from 'vitest';
import { shippedMethods } from '../../../src/leakage/methods.ts';
import type { Block, ReportDocument, Table, Verdict } from '../../../src/report/document.ts';
import { textOf } from '../../../src/report/document.ts';
import { figureSvg } from '../../../src/report/figure.ts';
import { studyReport } from '../../../src/report/study-report.ts';
import type { StudyReportSource, StudyReportTrial } from '../../../src/report/study-source.ts';
import { publishedRequirements } from '../../../src/study/published-requirements.ts';
import { summariseStudy, usualQuestions } from '../../../src/study/study-summary.ts';

const [method] = shippedMethods;
if (method === undefined) throw new Error('no method ships');
const digest = 'ab'.repeat(32);
const levels = { A: [0.1, 0.12, 0.09, 0.11, 0.1, 0.14], B: [0.41, 0.45, 0.38, 0.9, 0.37, 0.5] } as const;

function trialOf(ensemble: string, subject: number, percent: number, number: number): StudyReportTrial {
  return {
    ...{ trial: `t-${String(number).padStart(12, '0')}`, subject: `S0${subject}`, ensemble, virtual: false },
    ...{ createdAt: `2026-03-${String(number + 1).padStart(2, '0')}T09:00:00.000Z`, sealed: true, voided: null },
    ...{ requirementPercent: 0.5, method: 'first, version 2', review: null, doubtfulChecks: [] },
    cells: ['hood', 'ankle'].map((probe, index) => ({
      ...{ exercise: 'march', probe, flagged: false, limitPercent: 0.01 },
      percent: percent * (index + 0.5),
    })),
    seal: { seal: number + 1, at: '2026-03-20T10:00:00.000Z', head: digest },
    assessment: {
      ...{ assessment: `a-${number}`, digest, methodDigest: digest },
      ...{ createdAt: '2026-03-21T10:00:00.000Z', program: '0.1.0' },
    },
  };
}

const trials = Object.entries(levels).flatMap(([ensemble, percents], index) =>
  percents.map((percent, subject) => trialOf(ensemble, subject + 1, percent, 6 * index + subject)),
);

const source: StudyReportSource = {
  study: { study: 's-000000000001', name: 'Cuffs', createdAt: '2026-03-01T08:00:00.000Z' },
  trials,
  probes: [
    { probe: 'hood', label: 'Hood' },
    { probe: 'ankle', label: 'Ankle' },
  ],
  methods: [{ digest, method }],
  requirement: null,
  signatures: [],
  voidings: [],
  sealHead: digest,
  program: '0.1.0',
};

function blocksOf(document: ReportDocument): Block[] {
  const flat = (blocks: readonly Block[]): Block[] =>
    blocks.flatMap((block) => (block.block === 'pair' ? [...flat(block.left), ...flat(block.right)] : [block]));
  return document.sections.flatMap(({ blocks }) => flat(blocks));
}

function tableCalled(document: ReportDocument, caption: string): Table {
  const found = blocksOf(document).find((block) => block.block === 'table' && block.caption.startsWith(caption));
  if (found?.block !== 'table') throw new Error(`there is no table ${caption}`);
  return found;
}

/** Everything that can be read in it. */
function textIn(document: ReportDocument): string {
  return JSON.stringify(document).replaceAll('\u00a0', ' ');
}

const released = trials.map((one) => ({ ...one, released: { person: 'rita', at: '2026-03-22T10:00:00.000Z' } }));

/** Those of the first page. */
function verdictsIn(of: StudyReportSource): Verdict[] {
  const [first] = blocksOf(studyReport(of)).filter((block) => block.block === 'verdicts');
  const all = first?.block === 'verdicts' ? first.verdicts : [];
  const plain = (text: string): string => text.replaceAll('\u00a0', ' ');
  return all.map(({ mark, title, more }) => ({ mark, title: plain(title), more: plain(more) }));
}

const rowsOf = (table: Table): string[][] =>
  table.rows.map((row) => row.map(({ words }) => textOf(words).replaceAll('\u00a0', ' ')));

describe('the report of a study', () => {
  const document = studyReport(source);

  it('answers in one sentence, with the interval that the study has', () => {
    const { scopes } = summariseStudy(trials, usualQuestions);
    const ratio = scopes[0]?.ratios[0]?.ratio;
    expect(ratio?.known).toBe(true);
    const answer = blocksOf(document).find((block) => block.block === 'answer');
    const said = answer?.block === 'answer' ? textOf(answer.words).replaceAll('\u00a0', ' ') : '';
    expect(said).toMatch(/^B leaks 4\.\d times as much as A \(3\.\d to [56]\.\d, 95 % sure\)\./);
  });

  it('gives each ensemble a verdict on the limit of the plans', () => {
    expect(verdictsIn({ ...source, trials: released }).map(({ mark, title }) => [mark, title])).toEqual([
      ['good', 'A: 6 of 6 subjects ≤ 0.50 %'],
      ['doubt', 'B: 5 of 6 subjects ≤ 0.50 %'],
    ]);
  });

  it('ticks nothing off that is in doubt, and says what speaks against it', () => {
    const first = (change: Partial<StudyReportTrial>): (typeof released)[number][] =>
      released.map((one, index) => (index === 0 ? { ...one, ...change } : one));
    const flagged = (released[0]?.cells ?? []).map((cell) => ({ ...cell, flagged: true }));
    for (const [some, why] of [
      [trials, /In doubt: 6 of 6 trials count by an assessment that nobody has released\./],
      [first({ cells: flagged }), /In doubt: 1 of 6 trials rest on flagged cells\./],
      [first({ doubtfulChecks: ['zero'] }), /In doubt: 1 of 6 trials rest on checks that were overdue or had failed/],
    ] as const) {
      const [verdict] = verdictsIn({ ...source, trials: some });
      expect(verdict?.mark).toBe('doubt');
      expect(verdict?.more).toMatch(why);
    }
  });

  it('holds on page one no ensemble against a limit that only another was planned with', () => {
    const some = released.map((one) => (one.ensemble === 'B' ? { ...one, requirementPercent: 0.05 } : one));
    expect(verdictsIn({ ...source, trials: some }).map(({ title }) => title)).toEqual([
      'B: 0 of 6 subjects ≤ 0.050 %',
      'A: 6 of 6 subjects ≤ 0.50 %',
    ]);
    const unsealed = { ...(released[0] as StudyReportTrial), sealed: false, requirementPercent: 3 };
    const { shares } = summariseStudy([...released, unsealed], usualQuestions);
    expect(shares.map(({ limitPercent }) => limitPercent)).toEqual([0.5, 0.5]);
  });

  it('gives the days of the trials in the figures', () => {
    const some = released.map((one, index) =>
      index === 11
        ? { ...one, createdAt: '2026-07-01T09:00:00.000Z', voided: { person: 'rita', reason: 'torn' } }
        : one,
    );
    const [title] = blocksOf(studyReport({ ...source, trials: some }));
    expect(title?.block === 'title' ? textOf(title.below) : '').not.toMatch(/July/);
  });

  it('lists every trial, also those in no figure, with why', () => {
    const [first, second, ...rest] = trials as [StudyReportTrial, StudyReportTrial, ...StudyReportTrial[]];
    const some = [
      { ...first, voided: { person: 'rita', reason: 'the hose had come off' } },
      { ...second, sealed: false, seal: null, cells: null, assessment: null, method: null },
      ...rest,
    ];
    const rows = rowsOf(tableCalled(studyReport({ ...source, trials: some }), 'Trials in the order'));
    expect(rows).toHaveLength(12);
    expect(rows[0]?.at(-1)).toBe('void by rita: the hose had come off');
    expect(rows[1]?.at(-1)).toBe('not sealed');
    expect(rows[2]?.slice(0, 5)).toEqual(['3', 'S03', 'A', '2026-03-03', '0.0900']);
  });

  it('holds every ensemble against a requirement, with its source and what speaks against the verdict', () => {
    const [requirement = null] = publishedRequirements;
    const text = textIn(studyReport({ ...source, requirement }));
    expect(text).toContain(requirement?.edition);
    expect(text).toMatch(/A: no verdict/);
    expect(text).toMatch(/12 of 12 trials count by an assessment that nobody has released|verify against the standard/);
  });

  it('says of a virtual study on every page that it is none of a real ensemble', () => {
    const virtual = studyReport({ ...source, trials: trials.map((trial) => ({ ...trial, virtual: true })) });
    expect(virtual.virtual).toMatch(/Virtual data/);
    expect(document.virtual).toBeNull();
  });

  it('is dated by what it shows, and the same again', () => {
    expect(document.dated).toBe('2026-03-21T10:00:00.000Z');
    expect(JSON.stringify(studyReport(source))).toBe(JSON.stringify(document));
  });

  it('draws every trial at its place of the axis, whole and at each probe', () => {
    const figures = blocksOf(document).flatMap((block) => (block.block === 'figure' ? [block.figure] : []));
    expect(figures.map(({ id }) => id)).toEqual(['figure-study', 'figure-study-probes']);
    for (const figure of figures) {
      const svg = figureSvg(figure, { family: 'Text', titled: true });
      expect(svg).not.toMatch(/NaN|Infinity|undefined/);
      for (const shape of figure.shapes) {
        if (shape.shape === 'text') expect(shape.x).toBeLessThanOrEqual(figure.width);
      }
    }
    expect(figures[0]?.description).toMatch(/A: 6.trials, geometric mean 0\.11/);
  });

  it('stands also where there is nothing to compare, and where no trial has a value', () => {
    const one = studyReport({ ...source, trials: trials.slice(0, 6) });
    expect(textIn(one)).toMatch(/The mean leakage found is 0\.109 %/);
    const none = trials.map((trial) => ({ ...trial, cells: null, assessment: null, method: null }));
    const text = textIn(studyReport({ ...source, trials: none, methods: [] }));
    expect(text).toMatch(/This study gives no result yet/);
    expect(text).toMatch(/not assessed/);
  });

  it('keeps the first page to one page with many ensembles', () => {
    const many = Array.from({ length: 8 }, (_, index) =>
      levels.A.map((percent, subject) =>
        trialOf(`Ensemble ${index} with a long name`, subject + 1, percent * (index + 1), 6 * index + subject),
      ),
    ).flat();
    const sameDay = many.map((one) => ({ ...one, createdAt: '2026-03-02T09:00:00.000Z' }));
    const [first] = studyReport({ ...source, trials: sameDay }).sections;
    const kinds = (first?.blocks ?? []).map(({ block }) => block);
    expect(kinds).not.toContain('verdicts');
    expect(kinds).not.toContain('pair');
    const [lines] = (first?.blocks ?? []).filter((block) => block.block === 'list');
    const said = lines?.block === 'list' ? lines.items.map((item) => textOf(item).replaceAll('\u00a0', ' ')) : [];
    expect(said).toHaveLength(1);
    expect(said[0]).toMatch(/^Whole trials ≤ 0\.50 %: kept by every subject, in doubt: Ensemble 0 with a long name · /);
    expect(said[0]).toMatch(/; not kept by every subject: .*Ensemble 7 with a long name\.$/);
  });
});
