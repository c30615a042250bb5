import { statedUncertainty } from '../../../src/leakage/budget/uncertainty.ts';
import { describe, expect, it } from 'vitest';
import type { Cell } from '../../../src/leakage/assessment.ts';
import type { Block, ReportDocument, Table } from '../../../src/report/document.ts';
import { textOf } from '../../../src/report/document.ts';
import { boldWidth, figureSvg, type Figure } from '../../../src/report/figure.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { canonicalJson } from '../../../src/host/store/canonical-json.ts';
import { probePorts } from '../../../src/model/rig.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { prepareMachine } from '../../../src/trial/machine-state.ts';
import type { ReportSource } from '../../../src/report/source.ts';
import { hostileNames, reportSource, sourceOf } from '../../support/report/report-source.ts';
import { withDetails, withDoubts, withHeader } from '../../support/report/report-source.ts';

const source = reportSource();

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

function figuresOf(document: ReportDocument): Figure[] {
  return blocksOf(document).flatMap((block) => (block.block === 'figure' ? [block.figure] : []));
}

/** A number as it is shown, back as a number. */
const shown = (text: string): number => Number(text.replace('−', '-').replace(/[^0-9.-]/g, ''));

describe('the values of a report', () => {
  it('are those of the assessment, every one, in both tables', () => {
    const document = trialReport(source);
    const { cells } = source.assessment.details;
    expect(cells.length).toBe(15);
    const every = tableCalled(document, 'Every value');
    const overview = tableCalled(document, 'Inward leakage of the air seen');
    expect(every.rows).toHaveLength(cells.length);
    const exercises = source.record.series.exercises.map(({ exercise }) => exercise);
    cells.forEach((cell, index) => {
      expect(cell.windowPercent).not.toBeNull();
      const value = textOf(every.rows[index]?.[1]?.words ?? []);
      expect(Math.abs(shown(value) / (cell.windowPercent ?? 0) - 1)).toBeLessThan(0.005);
      const row = overview.rows[exercises.indexOf(cell.exercise)];
      const column = source.record.rig.ports.findIndex(({ probe }) => probe === cell.probe) + 1;
      expect(textOf(row?.[column]?.words ?? [])).toBe(value);
      expect(shown(textOf(every.rows[index]?.[5]?.words ?? []))).toBe(cell.readings);
    });
    const means = overview.totals[0]?.map(({ words }) => shown(textOf(words))) ?? [];
    expect(means.at(-1)).toBeCloseTo(source.assessment.details.overall.windowPercent ?? 0, 2);
  });

  it('have their probe and their exercise beside them', () => {
    const every = tableCalled(trialReport(source), 'Every value');
    const { ports } = source.record.rig;
    source.assessment.details.cells.forEach((cell, index) => {
      expect(every.rows[index]?.[0]?.probe).toBe(cell.probe);
      expect(textOf(every.rows[index]?.[0]?.words ?? [])).toBe(ports.find(({ probe }) => probe === cell.probe)?.label);
      const group = every.groups?.findLast(({ from }) => from <= index);
      const name = source.record.series.exercises.find(({ exercise }) => exercise === cell.exercise)?.name ?? '';
      expect(textOf(group?.heading ?? [])).toContain(name);
    });
  });

  it('show both intervals, cut at zero, and say in words where one is not known', () => {
    const every = tableCalled(trialReport(source), 'Every value');
    for (const [index, row] of every.rows.entries()) {
      const cell = source.assessment.details.cells[index];
      const window = [2, cell?.windowLowPercent, cell?.windowHighPercent] as const;
      for (const [column, low, high] of [window, [3, cell?.exerciseLowPercent, cell?.exerciseHighPercent] as const]) {
        const [from = Number.NaN, to = Number.NaN] = textOf(row[column]?.words ?? []).split(' to ').map(Number);
        expect(Math.abs(from - (low ?? Number.NaN))).toBeLessThan(0.005 * from);
        expect(Math.abs(to - (high ?? Number.NaN))).toBeLessThan(0.005 * to);
      }
    }
    const unknown = source.assessment.details.cells.map((cell): Cell => ({
      ...cell,
      ...{ windowLowPercent: null, windowHighPercent: null, exerciseLowPercent: null, exerciseHighPercent: null },
    }));
    for (const row of tableCalled(trialReport(withDetails(source, { cells: unknown })), 'Every value').rows)
      for (const column of [2, 3]) expect(textOf(row[column]?.words ?? [])).toBe('not known');
    const cells = source.assessment.details.cells.map((cell): Cell => ({
      ...cell,
      windowLowPercent: -0.11,
      windowHighPercent: 0.22,
      exercisePercent: 0.3,
      exerciseLowPercent: 0.05,
      exerciseHighPercent: 0.9,
    }));
    const later = tableCalled(trialReport(withDetails(source, { cells })), 'Every value');
    expect(textOf(later.rows[0]?.[2]?.words ?? [])).toBe('0 to 0.220');
    expect(textOf(later.rows[0]?.[3]?.words ?? [])).toBe('0.0500 to 0.900');
  });

  it('below the detection limit stand as such, with the signed number kept', () => {
    const [first, ...rest] = source.assessment.details.cells;
    if (first === undefined) throw new Error('there is no cell');
    const below: Cell = {
      ...first,
      windowPercent: -0.0021,
      detectionLimitPercent: 0.006,
      flags: ['below-detection-limit'],
    };
    const document = trialReport(withDetails(source, { cells: [below, ...rest] }));
    expect(textOf(tableCalled(document, 'Every value').rows[0]?.[1]?.words ?? [])).toBe('<\u00a00.00600 (−0.00210)');
    expect(textOf(tableCalled(document, 'Inward leakage of the air').rows[0]?.[1]?.words ?? [])).toBe('<\u00a00.00600');
    expect(textOf(tableCalled(document, 'What the flags mean').rows[0]?.[2]?.words ?? [])).toBe('1\u00a0value');
  });

  it('that are missing or in doubt say so, on the first page too', () => {
    const cells = source.assessment.details.cells.map((cell, index): Cell =>
      index === 0
        ? { ...cell, windowPercent: null, flags: ['port-unconfirmed'], flagged: true }
        : index === 1
          ? { ...cell, flags: ['gap'], flagged: true }
          : cell,
    );
    const overall = {
      ...source.assessment.details.overall,
      cells: 14,
      cellsFlagged: 2,
      cellsMissing: 1,
      flagged: true,
    };
    const document = trialReport(withDetails(source, { cells, overall, flags: ['gap', 'port-unconfirmed'] }));
    const every = tableCalled(document, 'Every value');
    expect(textOf(every.rows[0]?.[1]?.words ?? [])).toBe('no result');
    expect(textOf(every.rows[0]?.[6]?.words ?? [])).toBe('port not confirmed');
    expect(every.rows[1]?.[1]?.flagged).toBe(true);
    const page = JSON.stringify(document.sections[0]);
    expect(page).toContain('2\u00a0values are in doubt or missing');
    expect(page).toContain('In doubt because of: gap in the readings, port not confirmed.');
    expect(page).toContain('2 of 15\u00a0values in doubt');
    expect(page).not.toContain('"mark":"good"');
  });
});

describe('the first page', () => {
  const page = (changed = source): string => JSON.stringify(trialReport(changed).sections[0]);

  it.each([
    ['running', false],
    ['stopped', true],
    ['held', true],
  ] as const)('says whether a trial was ended before its series was done: closed from %s', (from, early) => {
    const { rig, series, events } = source.record;
    const machine = prepareMachine(compileSchedule(series, rig));
    const closed: TrialEvent = { kind: 'phase-changed', atMicroseconds: 9e6, from, to: 'closed', reason: '', machine };
    const changed = page({ ...source, record: { ...source.record, events: [...events, closed] } });
    expect(changed.includes('ended before its series was done')).toBe(early);
  });

  it('gives the answer in parts that can be pictured', () => {
    const overall = { ...source.assessment.details.overall, windowPercent: 0.00234 };
    expect(page(withDetails(source, { overall }))).toContain(
      'About 2.3 of every 100\u00a0000 parts of the aerosol outside',
    );
    const negative = { ...overall, windowPercent: -0.001 };
    expect(page(withDetails(source, { overall: negative }))).toContain('The mean leakage found is −0.0010\u00a0%.');
    const none = { ...overall, windowPercent: null };
    expect(page(withDetails(source, { overall: none }))).toContain('This trial gives no result.');
  });

  it('says when everything lies below the limit, with the highest limit', () => {
    const cells = source.assessment.details.cells.map((cell, index): Cell => ({
      ...cell,
      windowPercent: 0.001,
      detectionLimitPercent: 0.002 + index / 10_000,
    }));
    expect(page(withDetails(source, { cells }))).toContain('No leakage was found above the detection limit.');
    expect(page(withDetails(source, { cells }))).toContain('at most 0.0034\u00a0% of the aerosol outside');
  });

  it('holds the interval of the whole exercises against the requirement, and decides where it lies on one side', () => {
    const { overall } = source.assessment.details;
    const low = overall.exerciseLowPercent ?? Number.NaN;
    const high = overall.exerciseHighPercent ?? Number.NaN;
    const mean = overall.windowPercent ?? Number.NaN;
    expect(low).toBeGreaterThan(0);
    expect(low).toBeLessThan(overall.windowLowPercent ?? Number.NaN);
    expect(high).toBeGreaterThan(overall.windowHighPercent ?? Number.NaN);
    const held = (requirementPercent: number): string => page(withHeader(source, { requirementPercent }));
    expect(held(low * 0.999)).toMatch(/Mean [^"]* above the [^"]* allowed","more":"Not met by this trial/);
    expect(held(low * 1.001)).toContain('Not decided');
    expect(held(mean)).toContain('Not decided');
    expect(held(high * 0.999)).toContain('Not decided');
    expect(held(high * 1.001)).toMatch(/Mean [^"]* not above the [^"]* allowed","more":"Met by this trial/);
    expect(page()).toContain('No requirement was set');
    const unknown = { ...overall, exerciseLowPercent: null, exerciseHighPercent: null };
    expect(page(withHeader(withDetails(source, { overall: unknown }), { requirementPercent: mean * 2 }))).toContain(
      'No verdict: the interval of the mean is not known',
    );
  });

  it('gives no verdict of a trial that was ended early, and says so beside the mean', () => {
    const { record } = source;
    const phases = { from: 'stopped', to: 'closed', reason: '', machine: null } as const;
    const closed: TrialEvent = { kind: 'phase-changed', atMicroseconds: 1, ...phases };
    const held = withHeader(source, { requirementPercent: 5 });
    const ended = page({ ...held, record: { ...held.record, events: [...record.events, closed] } });
    expect(ended).toContain('No verdict: the trial was ended early');
    expect(ended).not.toContain('by this trial:');
    expect(page(held)).not.toContain('ended early');
  });

  it('names the protection factors that rest on values in doubt', () => {
    const notes = (of: ReportSource): string =>
      tableCalled(trialReport(of), 'Inward leakage of the air seen').notes.map(textOf).join(' ');
    expect(notes(source)).not.toContain('In doubt, because');
    const { probes, overall } = source.assessment.details;
    const second = probes.map((mean, index) => ({ ...mean, flagged: index === 1 }));
    const label = source.record.rig.ports.find(({ probe }) => probe === second[1]?.probe)?.label ?? '';
    const doubtful = withDetails(source, { probes: second, overall: { ...overall, flagged: true } });
    expect(notes(doubtful)).toContain(
      `In doubt, because values in its mean are: protection factor of ${label}, the mean of all.`,
    );
  });
});

describe('the figures of a report', () => {
  const texts = (figure: Figure | undefined): { x: number; text: string; size: number }[] =>
    figure?.shapes.flatMap((shape) => (shape.shape === 'text' ? [shape] : [])) ?? [];
  const document = trialReport(withDoubts(source));

  it('write long labels of probes whole, and to the left of every line of the axis', () => {
    const figure = figuresOf(document).find(({ id }) => id === 'figure-result');
    const labels = texts(figure).filter(({ x }) => x === 24);
    const whole = labels.map(({ text }) => text).join('');
    for (const { label } of probePorts(withDoubts(source).record.rig)) expect(whole).toContain(label);
    const upright = /^M([\d.]+) [\d.]+L\1 /;
    const grid = figure?.shapes.flatMap((shape) => {
      const x = shape.shape === 'path' ? upright.exec(shape.d)?.[1] : undefined;
      return x === undefined ? [] : [Number(x)];
    });
    const end = Math.max(...labels.map(({ x, text, size }) => x + boldWidth(text, size)));
    expect(end).toBeLessThan(Math.min(...(grid ?? [])));
  });

  it('write the names of exercises whole above their stretch of the trace', () => {
    const strips = figuresOf(document).filter(({ id }) => id.startsWith('figure-trace'));
    const whole = strips.map((strip) => texts(strip).map(({ text }) => text).join('')).join(' ');
    for (const { name } of withDoubts(source).record.series.exercises) {
      expect(whole.replaceAll(' ', '')).toContain(name.replaceAll(' ', ''));
    }
    expect(whole).not.toContain('…');
  });
});

describe('a report', () => {
  it('is the same document whenever and wherever it is made', () => {
    const before = process.env['TZ'];
    const first = canonicalJson(trialReport(source));
    try {
      for (const zone of ['Pacific/Kiritimati', 'America/St_Johns']) {
        process.env['TZ'] = zone;
        expect(new Date('2026-11-24T14:02:09.000Z').getHours()).not.toBe(14);
        expect(canonicalJson(trialReport(source))).toBe(first);
      }
    } finally {
      if (before === undefined) delete process.env['TZ'];
      else process.env['TZ'] = before;
    }
    expect(first).toContain('24 November 2026, 14:02:09 UTC');
  });

  it('says virtual of virtual data, and of no other', () => {
    const virtual = trialReport(withHeader(source, { virtual: true }));
    expect(virtual.virtual).toMatch(/Virtual data/);
    expect(JSON.stringify(virtual.sections[0])).toContain('no real ensemble was tested');
    const identified = (header: Partial<ReportSource['record']['header']>): string =>
      JSON.stringify(trialReport(withHeader(source, header)).sections[1]);
    expect(identified({ virtual: true })).toContain('marked as virtual');
    const started = identified({ virtual: true, rehearsal: { scenario: 'demo', seed: 7 } });
    expect(started).toContain('scenario demo, seed 7');
    const real = trialReport(withHeader(source, { virtual: false }));
    expect(real.virtual).toBeNull();
    expect(JSON.stringify(real)).not.toMatch(/Virtual/);
  });

  it('has every part, each once, with digests and heads whole', () => {
    const document = trialReport(source);
    const ids = document.sections.map(({ id }) => id);
    expect(ids).toEqual([
      ...['summary', 'identification', 'configuration', 'people', 'checks', 'series', 'results'],
      ...['doubt', 'trace', 'happened', 'received', 'method', 'cautions', 'proof'],
    ]);
    const proof = JSON.stringify(document.sections.at(-1));
    for (const character of 'abcdef') expect(proof).toContain(character.repeat(64));
    const figures = figuresOf(document).map(({ id }) => id);
    expect(new Set(figures).size).toBe(figures.length);
  });

  it('stands without cells, readings, events or background', () => {
    const { details } = source.assessment;
    const none = { windowPercent: null, protectionFactor: null, cells: 0, cellsFlagged: 0, cellsMissing: 0 };
    const wholes = { exerciseLowPercent: null, exerciseHighPercent: null };
    const overall = { ...none, ...statedUncertainty(null), ...wholes, flags: [], flagged: false };
    const empty = withDetails(source, {
      ...{ cells: [], probes: [], exercises: [], overall, zeros: [], references: [], backgrounds: [], blank: null },
      flags: [],
    });
    const bare = { ...empty, record: { ...empty.record, events: [], streams: [], segments: [] } };
    const text = JSON.stringify(trialReport(bare));
    expect(text).toContain('This trial gives no result.');
    expect(text).toContain('The assessment holds no values.');
    expect(text).toContain('Nothing was noted.');
    expect(text).not.toMatch(/NaN|Infinity|undefined/);
    expect(details.cells.length).toBeGreaterThan(0);
  });

  it('lets nothing hide in a name, and loses no letter of it', () => {
    for (const name of Object.values(hostileNames)) {
      const document = trialReport(withHeader(source, { ensemble: name, subject: name, operator: name }));
      const text = JSON.stringify(document);
      expect(text).not.toMatch(/[\u202a-\u202e\u2066-\u2069\u200e\u200f\u0000-\u001f]|\\u00[01]|\\n|\\ud800/);
    }
    const { title } = trialReport(withHeader(source, { ensemble: hostileNames.arabic }));
    expect(title).toContain(hostileNames.arabic);
  });
});

describe('figures', () => {
  it('are drawings of numbers only, whatever the values', () => {
    const odd = source.assessment.details.cells.map((cell, index): Cell => {
      const values = [0, -3, 1e-9, 250, null, 0.5];
      return {
        ...cell,
        windowPercent: values[index % values.length] ?? null,
        detectionLimitPercent: index % 3 === 0 ? 0.6 : null,
      };
    });
    const documents = [
      trialReport(source),
      trialReport(withDetails(source, { cells: odd })),
      trialReport(withDetails(withHeader(source, { requirementPercent: 1e-6 }), { cells: [] })),
    ];
    for (const figure of documents.flatMap(figuresOf)) {
      const svg = figureSvg(figure, { family: 'Any', titled: true });
      expect(svg).not.toMatch(/NaN|Infinity|undefined|e[-+]?\d+["LMV ]/);
      expect(svg).toContain(`<title id="${figure.id}-title">`);
      expect(svg.match(/<(script|image|use|style|foreignObject|a)\b/)).toBeNull();
    }
  });

  it('draws one dot for each value, hollow where it is in doubt', () => {
    const flagged = source.assessment.details.cells.map((cell, index): Cell => ({ ...cell, flagged: index < 4 }));
    const [figure] = figuresOf(trialReport(withDetails(source, { cells: flagged })));
    const dots = figure?.shapes.filter((shape) => shape.shape === 'circle' && shape.paint.stroke === '#0f1b1f') ?? [];
    const hollow = dots.filter((shape) => shape.shape === 'circle' && shape.paint.fill === '#ffffff');
    expect(dots.length).toBe(flagged.length);
    expect(hollow.length).toBe(4);
  });

  it('draws no line through a gap, and marks it', () => {
    const { record } = source;
    const stream = record.streams[0];
    if (stream === undefined) throw new Error('there is no stream');
    const from = 400_000_000;
    const to = 460_000_000;
    const keep = (_: number, index: number): boolean => {
      const at = stream.atMicroseconds[index] ?? 0;
      return at < from || at > to;
    };
    const instrument = stream.descriptor.instrument;
    const problem = (code: 'connection-lost' | 'connection-restored', atMicroseconds: number) => ({
      kind: 'problem' as const,
      atMicroseconds,
      problem: { instrument, code, atMicroseconds, detail: 'unplugged', byteCount: 0 },
    });
    const holed = {
      ...record,
      events: [...record.events, problem('connection-lost', from), problem('connection-restored', to)],
      streams: [{ ...stream, atMicroseconds: stream.atMicroseconds.filter(keep), values: stream.values.filter(keep) }],
    };
    const document = trialReport(sourceOf(holed));
    const text = JSON.stringify(document);
    expect(text).toContain('1\u00a0stretch');
    expect(text).toContain(`${instrument} was not connected`);
    const strip = figuresOf(document).find(({ id }) => id === 'figure-trace-2');
    const steps = (strip?.shapes ?? []).flatMap((shape) => {
      if (shape.shape !== 'path' || shape.paint.stroke !== '#566468') return [];
      const xs = [...shape.d.matchAll(/[ML]([\d.]+) /g)].map((match) => Number(match[1]));
      return xs.slice(1).map((x, index) => x - (xs[index] ?? x));
    });
    expect(steps.length).toBeGreaterThan(50);
    expect(Math.max(...steps)).toBeLessThan(10);
  });
});
