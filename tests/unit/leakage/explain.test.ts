import { describe, expect, it } from 'vitest';
import { formatExplanation } from '../../../src/host/cli/explain-text.ts';
import { adaptiveMethod } from '../../../src/leakage/adaptive-method.ts';
import { assessWithWorkings } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainCell, explainFrom } from '../../../src/leakage/explain.ts';
import { explanationSchema } from '../../../src/leakage/explanation.ts';
import type { Method } from '../../../src/model/method.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { valueFromJson, valueFromText, type ExplainedJson } from '../../support/explain-calculator.ts';
import {
  ofProbe,
  purposes,
  record as spoilable,
  withEvents,
  without,
  withReadings,
} from '../../support/spoiled-trial.ts';
import { syntheticTrial, type SyntheticOptions } from '../../support/synthetic-trial.ts';

/** Every cell of a trial, explained, as it survives JSON. */
function everyCell(record: TrialRecord, method: Method) {
  const workings = assessWithWorkings(record, method);
  return workings.assessment.cells.map((cell) => {
    const explanation = explainFrom(record, method, workings, cell);
    return { cell, explanation, json: JSON.parse(JSON.stringify(explanation)) as ExplainedJson };
  });
}

const adaptive: Partial<Method> = adaptiveMethod;
const noisy: SyntheticOptions = { noise: 4e-5 };
const cases: readonly [string, SyntheticOptions, Partial<Method>][] = [
  ['seed 1', { ...noisy, seed: 1 }, {}],
  ['seed 2', { ...noisy, seed: 2 }, {}],
  ['seed 3, two dwells for each probe', { ...noisy, seed: 3, dwellsPerProbe: 2 }, {}],
  ['seed 4, no bypass', { ...noisy, seed: 4, bypass: false }, {}],
  ['seed 5, lag not corrected', { ...noisy, seed: 5 }, { lagCorrection: false }],
  ['seed 6, mean of before and after', { ...noisy, seed: 6 }, { interpolation: 'before-and-after-mean' }],
  ['seed 7, no background', { ...noisy, seed: 7 }, { subtractBackground: false }],
  ['seed 8, no factors', { ...noisy, seed: 8 }, { applyDilution: false, applyPenetration: false }],
  ['seed 10, adaptive, by the time constant of the rig', { ...noisy, seed: 10 }, adaptive],
  ['seed 11, adaptive, by that of six falls', { ...noisy, seed: 11, timeConstantSeconds: 2, exercises: 6 }, adaptive],
  [
    'seed 12, two probes in the breathing zone',
    { ...noisy, seed: 12, breath: { probes: ['hood', 'ankle'], seconds: 3.7, inspired: 0.42 } },
    {},
  ],
  ['seed 9, nothing leaks', { ...noisy, seed: 9, leakages: [0, 0, 0, 0, 0] }, {}],
];

describe.each(cases)('an explained trial, %s', (_, options, change) => {
  const method = { ...firstMethod, ...change };
  const cells = everyCell(syntheticTrial(options).record, method);

  it('has a value in every cell', () => {
    expect(cells.length).toBe(5 * (options.exercises ?? 3));
    for (const { cell } of cells) expect(cell.windowPercent).not.toBeNull();
  });

  it('gives value and detection limit again from its JSON by an independent calculator', () => {
    for (const { cell, json } of cells) {
      const rebuilt = valueFromJson(json);
      const limit = cell.detectionLimitPercent ?? Number.NaN;
      expect(Math.abs((rebuilt?.percent ?? Number.NaN) - (cell.windowPercent ?? 0))).toBeLessThan(1e-7 * limit);
      expect(Math.abs((rebuilt?.limit ?? Number.NaN) - limit)).toBeLessThan(1e-9 * limit);
    }
  });

  it('gives the printed value again, to its last figure, from the printed lines', () => {
    for (const { cell, explanation } of cells) {
      const page = valueFromText(formatExplanation(explanation, false));
      if (page === null) throw new Error('no value is printed');
      expect(Math.abs(page.printed - (cell.windowPercent ?? 0))).toBeLessThanOrEqual(0.5001 * page.lastFigure);
      expect(Math.abs(page.rebuilt - page.printed)).toBeLessThanOrEqual(0.55 * page.lastFigure);
      // Figures are not given away: the last one is small against the value or against its detection limit.
      const size = Math.max(Math.abs(cell.windowPercent ?? 0), cell.detectionLimitPercent ?? 0);
      expect(page.lastFigure).toBeLessThanOrEqual(size / 999);
    }
  });

  it('is what its schema says', () => {
    for (const { explanation } of cells) expect(() => explanationSchema.parse(explanation)).not.toThrow();
  });
});

describe('a calculator that is given something else', () => {
  const [first] = everyCell(syntheticTrial(noisy).record, firstMethod);
  if (first === undefined) throw new Error('no cell');
  const page = formatExplanation(first.explanation, false);

  it('finds another value when one printed zero is altered', () => {
    const altered = page.replace(/(dwell \d+, before +)0\.0/, '$10.1');
    expect(altered).not.toBe(page);
    const found = valueFromText(altered);
    expect(Math.abs((found?.rebuilt ?? 0) - (found?.printed ?? 0))).toBeGreaterThan(found?.lastFigure ?? 0);
  });

  it('finds another value when one reading is altered', () => {
    const copy = structuredClone(first.json);
    const window = copy.windows.find(({ dwell }) => dwell === first.json.parts[0]?.dwell);
    const reading = window?.values[50];
    if (reading === undefined) throw new Error('no reading');
    Object.assign(reading, { value: reading.value + 0.001 });
    const change = (valueFromJson(copy)?.percent ?? 0) - (first.cell.windowPercent ?? 0);
    expect(Math.abs(change)).toBeGreaterThan(1e-6);
  });
});

describe('readings', () => {
  it('are those that arrived in the window, with their times', () => {
    const { record } = syntheticTrial(noisy);
    const { windows } = explainCell(record, firstMethod, { exercise: 'exercise-2', probe: 'thigh' });
    const [stream] = record.streams;
    for (const { fromMicroseconds, toMicroseconds, values, readings, firstAtMicroseconds } of windows) {
      const arrived = [...(stream?.atMicroseconds ?? [])].flatMap((at, index) =>
        fromMicroseconds <= at && at < toMicroseconds ? [[at, stream?.values[index]]] : [],
      );
      expect(values.map(({ atMicroseconds, value }) => [atMicroseconds, value])).toEqual(arrived);
      expect(readings).toBe(arrived.length);
      expect(firstAtMicroseconds).toBe(arrived[0]?.[0]);
    }
  });

  it('are printed where they are asked for, each with its share', () => {
    const { record } = syntheticTrial(noisy);
    const explanation = explainCell(record, firstMethod, { exercise: 'exercise-1', probe: 'hood' });
    const [window] = explanation.windows;
    if (window === undefined) throw new Error('no window');
    const text = formatExplanation(explanation, true);
    const [, table = ''] = text.split(`Readings of dwell ${window.dwell}: `);
    const rows = table.split('\n').slice(3, 3 + window.readings).map((line) => line.trim().split(/ +/).map(Number));
    expect(rows.map(([, , value, share]) => [value, share])).toEqual(
      window.values.map(({ value, share }) => [value, share]),
    );
    expect(formatExplanation(explanation, false)).not.toContain('Readings of dwell');
  });
});

describe('what raised a flag', () => {
  const place = ofProbe('exercise-2', 'back');
  const at = { exercise: 'exercise-2', probe: 'back' };

  it('is told for every flag of every cell, and for none that is not raised', () => {
    const spoiled = [
      withReadings(place.from + 7e6, place.from + 9e6, () => null),
      withReadings(place.from, place.to, () => 0.3),
      withReadings(place.from + 8e6, place.from + 8.1e6, () => 60),
      withEvents(without(...purposes('background').slice(0, 2))),
      withEvents(without(...purposes('reference').slice(-1))),
      syntheticTrial({ ...noisy, tailShare: 0.004, zeroDrift: 0.2, challengeDrift: -1.2 }).record,
    ];
    const seen = new Set<string>();
    for (const record of spoiled) {
      for (const { cell, explanation } of everyCell(record, firstMethod)) {
        const raised = new Set(explanation.doubts.map(({ flag }) => flag));
        expect([...raised].sort()).toEqual([...cell.flags].sort());
        expect(explanation.flags.map(({ flag }) => flag)).toEqual(cell.flags);
        for (const flag of cell.flags) seen.add(flag);
      }
    }
    expect(seen.size).toBeGreaterThanOrEqual(8);
  });

  it('comes with the figure and the limit it was held against', () => {
    const gap = explainCell(withReadings(place.from + 7e6, place.from + 9e6, () => null), firstMethod, at);
    const [cause] = gap.doubts.filter(({ flag }) => flag === 'gap');
    expect(cause).toMatchObject({ dwell: place.dwell, figure: { unit: 'seconds' } });
    expect(cause?.figure?.value).toBeCloseTo(2.05, 1);
    expect(cause?.figure?.limit).toBeLessThan(0.5);
    const text = formatExplanation(gap, false);
    expect(text).toMatch(new RegExp(`gap: .*\\n {4}dwell ${place.dwell}: longest time without a reading: 2\\.0`));

    const saturated = explainCell(withReadings(place.from + 8e6, place.from + 8.1e6, () => 60), firstMethod, at);
    expect(saturated.doubts.find(({ flag }) => flag === 'saturated')?.figure).toEqual({
      value: 60,
      limit: 50,
      unit: 'reading',
    });
  });

  it('is told for a cell without a number too', () => {
    const unconfirmed = explainCell(
      withEvents((events) =>
        events.filter((event) => event.kind !== 'port-acknowledged' || event.dwell !== place.dwell),
      ),
      firstMethod,
      at,
    );
    expect(unconfirmed).toMatchObject({ windowPercent: null, flagged: true });
    expect(unconfirmed.parts).toMatchObject([{ read: false, windowPercent: null, zero: null }]);
    const text = formatExplanation(unconfirmed, true);
    expect(text).toMatch(/Inward leakage +none/);
    expect(text).toContain('port-unconfirmed');
    expect(valueFromText(text)).toBeNull();
  });
});

it('refuses a cell that is not there, and names those that are', () => {
  const wrong = { exercise: 'nowhere', probe: 'back' };
  expect(() => explainCell(spoilable, firstMethod, wrong)).toThrow(/no cell .* nowhere .*exercise-1, exercise-2/);
});
