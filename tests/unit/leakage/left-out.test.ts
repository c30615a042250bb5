import { describe, expect, it } from 'vitest';
import { adaptiveMethod } from '../../../src/leakage/adaptive-method.ts';
import { fullDelayMicroseconds } from '../../../src/leakage/alignment.ts';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import type { Assessment } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainFrom } from '../../../src/leakage/explain.ts';
import { explanationSchema } from '../../../src/leakage/explanation.ts';
import type { LeftOut } from '../../../src/leakage/left-out.ts';
import { leftOutSchema } from '../../../src/leakage/left-out.ts';
import { shippedMethods } from '../../../src/leakage/methods.ts';
import { solePort } from '../../../src/model/rig.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { valueFromJson, type ExplainedJson } from '../../support/explain-calculator.ts';
import { cellOf, dwellWhere, healthy, ofProbe, record, withReadings } from '../../support/spoiled-trial.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

/**
 * No outside source knows this program's stretches. What is held here against the truth of a trial made from formulas
 * (tests/support/synthetic-trial.ts), against a pocket calculator, and against records that differ in nothing but what
 * is left out of them: that is the definition of leaving out.
 */
const second = 1_000_000;

const stretch = (fromMicroseconds: number, toMicroseconds: number, more: Partial<LeftOut> = {}): LeftOut => ({
  fromMicroseconds,
  toMicroseconds,
  time: 'arrival',
  probe: null,
  reason: 'somebody opened the door',
  ...more,
});

const exercise = record.series.exercises[1]?.exercise ?? '';
const window = cellOf(healthy, exercise, 'chest').parts[0]?.reading;
if (window == null) throw new Error('the healthy trial has no window');
const { arrivalFromMicroseconds: begins, arrivalToMicroseconds: ends, dwell } = window;
const middle = (begins + ends) / 2;
/** Two seconds in the middle of the chest's window. */
const inside = stretch(Math.round(middle - second), Math.round(middle + second));

const worse = (one: Assessment, other: Assessment): void => {
  const [before, after] = [one, other].map((source) => cellOf(source, exercise, 'chest'));
  expect(after?.detectionLimitPercent).toBeGreaterThan(before?.detectionLimitPercent ?? Number.NaN);
  const noise = (cell: typeof before): number =>
    cell?.budget.find(({ line }) => line === 'window-noise')?.standardPercent ?? Number.NaN;
  expect(noise(after)).toBeGreaterThan(noise(before));
};

describe('without stretches', () => {
  it('an assessment is what it was, byte for byte', () => {
    for (const method of shippedMethods) {
      expect(JSON.stringify(assess(record, method, []))).toBe(JSON.stringify(assess(record, method)));
    }
    expect(healthy).not.toHaveProperty('leftOut');
  });
});

describe('a stretch inside the window of a probe', () => {
  const left = assess(record, firstMethod, [inside]);
  const cell = cellOf(left, exercise, 'chest');
  const before = cellOf(healthy, exercise, 'chest');

  it('takes its readings out of the mean, and says so', () => {
    expect(before.readings - cell.readings).toBe(40);
    expect(cell.flags).toEqual([...before.flags, 'left-out']);
    expect(cell.flagged).toBe(true);
    expect(left.leftOut).toEqual([{ ...inside, dwells: [dwell], readings: 40 }]);
    expect(cell.parts[0]?.reading?.pieces).toHaveLength(2);
    worse(healthy, left);
  });

  it('touches no other cell but by what exercises differ by', () => {
    for (const other of left.cells.filter((one) => one !== cell)) {
      const was = cellOf(healthy, other.exercise, other.probe);
      expect({ ...other, exerciseLowPercent: 0, exerciseHighPercent: 0 }).toEqual({
        ...was,
        exerciseLowPercent: 0,
        exerciseHighPercent: 0,
      });
    }
  });

  it('is the mean over the air of what is left', () => {
    const quiet = syntheticTrial({ noise: 1e-7 });
    const own = cellOf(assess(quiet.record, firstMethod, [inside]), exercise, 'chest');
    const reading = own.parts[0]?.reading;
    const port = quiet.record.rig.ports.find(({ probe }) => probe === 'chest');
    if (reading?.pieces === undefined || port === undefined) throw new Error('there are no pieces');
    const delay = fullDelayMicroseconds(quiet.record.rig, port);
    let length = 0;
    let truth = 0;
    for (const { arrivalFromMicroseconds: from, arrivalToMicroseconds: to } of reading.pieces) {
      length += to - from;
      truth += (to - from) * quiet.truthPercent('chest', from - delay, to - delay);
    }
    const whole = quiet.truthPercent('chest', begins - delay, ends - delay);
    expect(Math.abs((own.windowPercent ?? 0) / (truth / length) - 1)).toBeLessThan(2e-3);
    // The whole window is another question: leaving out must be seen to have changed the answer.
    expect(Math.abs(truth / length / whole - 1)).toBeGreaterThan(5e-3);
  });

  it('on probe time lies earlier by the way of the air', () => {
    const port = record.rig.ports.find(({ probe }) => probe === 'chest');
    const delay = port === undefined ? Number.NaN : fullDelayMicroseconds(record.rig, port);
    const probe = stretch(inside.fromMicroseconds - delay, inside.toMicroseconds - delay, {
      time: 'probe',
      probe: 'chest',
    });
    const shown = (source: Assessment) => ({ ...source, leftOut: [] });
    expect(shown(assess(record, firstMethod, [probe]))).toEqual(shown(left));
  });

  it('of another probe takes nothing', () => {
    const other = assess(record, firstMethod, [{ ...inside, probe: 'hood' }]);
    expect(other.leftOut).toEqual([{ ...inside, probe: 'hood', dwells: [], readings: 0 }]);
    expect({ ...other, leftOut: undefined }).toEqual({ ...healthy, leftOut: undefined });
  });

  it('counts once where two of them overlap', () => {
    const half = stretch(inside.fromMicroseconds, Math.round(middle));
    const twice = assess(record, firstMethod, [half, inside]);
    expect(cellOf(twice, exercise, 'chest')).toEqual(cell);
  });

  it('leaves no value where more than half of the readings are gone', () => {
    const most = assess(record, firstMethod, [stretch(begins - second, Math.round(middle + second))]);
    const gone = cellOf(most, exercise, 'chest');
    expect(gone.windowPercent).toBeNull();
    expect(gone.flags).toEqual(['incomplete', 'left-out']);
    const { cells } = assessWithWorkings(record, firstMethod, [stretch(begins - second, Math.round(middle + second))]);
    const doubt = cells
      .find(({ shown }) => shown.exercise === exercise && shown.probe === 'chest')
      ?.doubts.find(({ flag }) => flag === 'left-out');
    expect(doubt?.figure?.value).toBeLessThan(doubt?.figure?.limit ?? 0);
  });
});

/**
 * Records that differ in what is left out, and in nothing else, must not differ in a value, an interval of the air seen
 * or a flag. Only the flag that says that leaving out changed a value, and the interval of the whole exercise, which it
 * must not narrow, are held against the trial with nothing left out.
 */
const withoutComparison = (source: Assessment): unknown =>
  JSON.parse(
    JSON.stringify(source, (key, value: unknown) => {
      if (key === 'flags') return (value as string[]).filter((flag) => flag !== 'left-out');
      const compared = ['slice', 'exerciseLowPercent', 'exerciseHighPercent', 'flagged', 'cellsFlagged'];
      return compared.includes(key) ? undefined : value;
    }),
  );
describe.each(shippedMethods.map((method) => [method.name, method] as const))('by the method %s', (_, method) => {
  const wild = (from: number, to: number): TrialRecord[] =>
    [0.3, 7].map((factor) => withReadings(from, to, (value) => value * factor + 0.01));
  const zero = dwellWhere(({ dwell: { purpose, exercise: of } }) => purpose === 'zero' && of === exercise);
  const reference = dwellWhere(({ dwell: { purpose, exercise: of } }) => purpose === 'reference' && of === exercise);
  const ankle = ofProbe(exercise, 'ankle');
  const places: readonly (readonly [string, LeftOut])[] = [
    ['the middle of a window', inside],
    ['the beginning of one', stretch(begins - second, begins + 2 * second)],
    ['most of a dwell', stretch(ankle.from + 2 * second, ankle.to)],
    ['a part of a zero', stretch(zero.to - 4 * second, zero.to - 2 * second)],
    ['all but the end of a zero', stretch(zero.from, zero.to)],
    ['a part of a reference', stretch(reference.to - 4 * second, reference.to - 2 * second)],
  ];
  it.each(places)('%s takes part in nothing', (_name, place) => {
    const { fromMicroseconds: from, toMicroseconds: to } = place;
    const [one, other] = wild(from, to).map((changed) => assess(changed, method, [place]));
    expect(one && withoutComparison(one)).toEqual(other && withoutComparison(other));
  });
});

it('what was read just before a dwell still counts as carried over, left out or not', () => {
  const next = record.events.find((event) => event.kind === 'port-requested' && event.dwell === dwell);
  const at = (next?.atMicroseconds ?? 0) + 0.5 * second;
  const left = stretch(at - 2 * second, at + second);
  const carried = (source: TrialRecord): number =>
    cellOf(assess(source, firstMethod, [left]), exercise, 'chest').parts[0]?.reading?.carryOverReading ?? 0;
  const high = withReadings(left.fromMicroseconds, left.toMicroseconds, (value) => value + 10);
  expect(Math.abs(carried(high))).toBeGreaterThan(10 * Math.abs(carried(record)));
});

describe('a stretch inside a zero or a reference', () => {
  const reference = dwellWhere(({ dwell: { purpose, exercise: of } }) => purpose === 'reference' && of === exercise);
  const whole = stretch(reference.from, reference.to + 2 * second);

  it('is said by every cell: noise, drift and wander of all come from them', () => {
    const left = assess(record, firstMethod, [stretch(reference.to - 4 * second, reference.to - 2 * second)]);
    expect(left.cells.every(({ flags }) => flags.includes('left-out'))).toBe(true);
    expect(left.references).toHaveLength(healthy.references.length);
    expect(left.flags).toContain('left-out');
  });

  it('removes the anchor where it takes all of it: the neighbours are used, with a wider interval', () => {
    const left = assess(record, firstMethod, [whole]);
    expect(left.references).toHaveLength(healthy.references.length - 1);
    const first = record.series.exercises[0]?.exercise ?? '';
    const [was, is] = [healthy, left].map((source) => cellOf(source, first, 'ankle'));
    const challenge = (cell: typeof was): number =>
      cell?.budget.find(({ line }) => line === 'challenge')?.standardPercent ?? Number.NaN;
    expect(is?.parts[0]?.span).not.toEqual(was?.parts[0]?.span);
    expect(challenge(is)).toBeGreaterThan(0);
    expect(is?.flags).toContain('left-out');
  });

  it('leaves no value where no reference is left', () => {
    const { probe } = solePort(record.rig, 'reference');
    const none = assess(record, firstMethod, [stretch(0, 10_000 * second, { probe })]);
    expect(none.overall.windowPercent).toBeNull();
    expect(none.cells[0]?.flags).toEqual(expect.arrayContaining(['no-reference', 'left-out']));
  });
});

describe('the explanation of a cell with a stretch left out', () => {
  it.each([firstMethod, { ...firstMethod, lagCorrection: false }, adaptiveMethod])(
    'gives value and limit again from its JSON by an independent calculator',
    (method) => {
      const leftOut = [inside, stretch(ends - 3 * second, ends - 2 * second)];
      const workings = assessWithWorkings(record, method, leftOut);
      for (const cell of workings.assessment.cells) {
        const explanation = explainFrom(record, method, workings, cell, 0);
        expect(explanationSchema.parse(explanation)).toEqual(explanation);
        const rebuilt = valueFromJson(JSON.parse(JSON.stringify(explanation)) as ExplainedJson);
        const limit = cell.detectionLimitPercent ?? Number.NaN;
        expect(Math.abs((rebuilt?.percent ?? Number.NaN) - (cell.windowPercent ?? 0))).toBeLessThan(1e-5 * limit);
        expect(Math.abs((rebuilt?.limit ?? Number.NaN) - limit)).toBeLessThan(1e-5 * limit);
      }
      const own = explainFrom(record, method, workings, { exercise, probe: 'chest' }, 0);
      expect(own.leftOut).toHaveLength(2);
      const explained = own.windows.find((one) => one.dwell === dwell);
      const shares = explained?.values.filter(({ share }) => share === 0) ?? [];
      expect(shares).toHaveLength(explained?.leftOut?.readings ?? 0);
      expect(own.doubts.filter(({ flag }) => flag === 'left-out')).toHaveLength(1);
    },
  );
});

describe('the form of a stretch', () => {
  it.each([
    ['no reason', { reason: '  ' }],
    ['ends before it begins', { fromMicroseconds: 5, toMicroseconds: 5 }],
    ['no time', { time: 'dwell' }],
    ['no whole number', { fromMicroseconds: 0.5 }],
  ])('%s is refused', (_, change) => {
    expect(leftOutSchema.safeParse({ ...inside, ...change }).success).toBe(false);
  });
});
