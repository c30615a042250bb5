import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import type { Assessment, Cell, CellPart } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import type { Method } from '../../../src/model/method.ts';
import { nominal, probeNames, syntheticTrial } from '../../support/synthetic-trial.ts';
import type { SyntheticTrial } from '../../support/synthetic-trial.ts';

const method = (changes: Partial<Method>): Method => ({ ...firstMethod, ...changes });
const trial = syntheticTrial();
const right = assess(trial.record, firstMethod);

function partOf(cell: Cell): CellPart {
  const part = cell.parts[0];
  if (part === undefined) throw new Error(`${cell.exercise} ${cell.probe} has no dwell`);
  return part;
}

/** Relative error of a cell against the truth over its own window on probe time. */
function errorOf(source: SyntheticTrial, cell: Cell): number {
  let truth = 0;
  let length = 0;
  for (const { reading } of cell.parts) {
    if (reading === null) throw new Error(`${cell.exercise} ${cell.probe} has no window`);
    const seconds = reading.probeToMicroseconds - reading.probeFromMicroseconds;
    truth += seconds * source.truthPercent(cell.probe, reading.probeFromMicroseconds, reading.probeToMicroseconds);
    length += seconds;
  }
  return (cell.windowPercent ?? Number.NaN) / (truth / length) - 1;
}

/** [with the change, as it should be] for every cell. */
function pairs(changed: Assessment): [Cell, Cell][] {
  return changed.cells.map((cell, index) => [cell, right.cells[index] as Cell]);
}

describe('with every correction on', () => {
  it.each([
    ['tau 1 s', {}],
    ['tau 0.3 s', { timeConstantSeconds: 0.3 }],
    ['tau 2 s', { timeConstantSeconds: 2 }],
    ['no bypass', { bypass: false }],
    ['split dwells', { dwellsPerProbe: 2, dwellSeconds: 9 }],
    ['no drift', { zeroDrift: 0, spanDrift: 0, challengeDrift: 0, challengeWave: 0 }],
    ['zero falling, span rising', { zeroDrift: -0.02, spanDrift: 0.03 }],
    ['leakage steady', { wave: 0, burst: 0 }],
  ])('every cell is the truth over its window: %s', (_, options) => {
    const source = syntheticTrial(options);
    for (const cell of assess(source.record, firstMethod).cells) {
      // 0.1 % for the course of challenge and drift between references; the background knows only its own span.
      const background = cell.probe === 'hood' ? 0.002 : 0;
      expect(Math.abs(errorOf(source, cell)), `${cell.exercise} ${cell.probe}`).toBeLessThan(0.001 + background);
    }
  });

  it('no dwell position reads differently from the others', () => {
    for (let position = 1; position <= probeNames.length; position += 1) {
      const errors = right.cells
        .filter((cell) => cell.dwellPosition === position && cell.probe !== 'hood')
        .map((cell) => errorOf(trial, cell));
      expect(errors.length).toBeGreaterThan(0);
      for (const error of errors) expect(Math.abs(error)).toBeLessThan(0.0005);
    }
  });

  it('what the sensitivity drifted since the background stays: that share of the background, and no more', () => {
    const steady = syntheticTrial({ spanDrift: 0 });
    for (const cell of assess(steady.record, firstMethod).cells) {
      if (cell.probe === 'hood') expect(Math.abs(errorOf(steady, cell))).toBeLessThan(0.0005);
    }
    for (const cell of right.cells.filter(({ probe }) => probe === 'hood')) {
      const { background, reading } = partOf(cell);
      const seconds = ((reading?.arrivalFromMicroseconds ?? 0) - 35e6) / 1e6;
      const expected = -(0.03 * (seconds / 3600)) * (1e-2 / 0.96 / (cell.windowPercent ?? 0));
      expect(background?.netReading).toBeGreaterThan(0);
      expect(Math.abs(errorOf(trial, cell) - expected)).toBeLessThan(0.0005);
    }
  });
});

describe('with one correction off the result is wrong by what the correction is worth', () => {
  const stated = (probe: string) => {
    const port = trial.record.rig.ports.find((candidate) => candidate.probe === probe);
    const reference = trial.record.rig.ports.find((candidate) => candidate.role === 'reference');
    if (port === undefined || reference === undefined) throw new Error(`no port ${probe}`);
    return { port, reference };
  };

  it('dilution, of the probe and of the reference', () => {
    for (const [off, on] of pairs(assess(trial.record, method({ applyDilution: false })))) {
      const { port, reference } = stated(off.probe);
      const expected = reference.dilution.value / port.dilution.value;
      expect((off.windowPercent ?? 0) / (on.windowPercent ?? 0)).toBeCloseTo(expected, 9);
      expect(partOf(off)).toMatchObject({ dilution: 1, referenceDilution: 1 });
    }
  });

  it('line loss, of the probe and of the reference', () => {
    for (const [off, on] of pairs(assess(trial.record, method({ applyPenetration: false })))) {
      const { port, reference } = stated(off.probe);
      const expected = port.penetration.value / reference.penetration.value;
      expect((off.windowPercent ?? 0) / (on.windowPercent ?? 0)).toBeCloseTo(expected, 9);
    }
  });

  it('spatial factor', () => {
    for (const [off, on] of pairs(assess(trial.record, method({ applySpatialFactor: false })))) {
      expect((off.windowPercent ?? 0) / (on.windowPercent ?? 0)).toBeCloseTo(0.96, 9);
    }
  });

  it('background: a third of the smallest leakage', () => {
    for (const [off, on] of pairs(assess(trial.record, method({ subtractBackground: false })))) {
      const difference = (off.windowPercent ?? 0) - (on.windowPercent ?? 0);
      // 0.01 % of the nominal challenge, against a challenge that drifts by some percent.
      expect(difference / (0.01 / 0.96)).toBeGreaterThan(0.97);
      expect(difference / (0.01 / 0.96)).toBeLessThan(1.05);
      if (off.probe === 'hood') expect(difference / (on.windowPercent ?? 1)).toBeGreaterThan(0.25);
    }
  });

  it('interpolation of zero and span: by the place of the window between them', () => {
    for (const [off, on] of pairs(assess(trial.record, method({ interpolation: 'before-and-after-mean' })))) {
      const { background, dilution, penetration, zero, span } = partOf(on);
      if (zero === null || span === null || background === null) throw new Error('every cell is complete');
      // Zeros and references lie 140 s apart, the two zeros around the backgrounds 115 s.
      const gapSeconds = 140;
      const drift = (0.02 * nominal) / 3600;
      const ofWindow = (0.5 - zero.weightAfter) * drift * gapSeconds;
      const ofBackground = (0.5 - background.zero.weightAfter) * drift * 115;
      const zeroError = ofWindow - ofBackground;
      const spanError = (0.5 - span.weightAfter) * -0.1 * (gapSeconds / 3600);
      const fromZero = (-100 * zeroError * (dilution / penetration)) / ((0.96 * (span.value - zero.value) * 2) / 0.94);
      const expected = fromZero - (on.windowPercent ?? 0) * spanError;
      const actual = (off.windowPercent ?? 0) - (on.windowPercent ?? 0);
      expect(Math.abs(actual - expected)).toBeLessThan(0.1 * Math.abs(expected) + 3e-4 * (on.windowPercent ?? 0));
    }
    const hood = pairs(assess(trial.record, method({ interpolation: 'before-and-after-mean' }))).filter(
      ([off]) => off.probe === 'hood',
    );
    expect(hood.some(([off, on]) => Math.abs((off.windowPercent ?? 0) / (on.windowPercent ?? 1) - 1) > 0.5)).toBe(true);
  });

  it('lag: what the previous port and a moving leakage leave at tau 2 s', () => {
    const slow = syntheticTrial({ timeConstantSeconds: 2, wave: 0, burst: 0 });
    const off = assess(slow.record, method({ lagCorrection: false }));
    const on = assess(slow.record, firstMethod);
    for (const [index, cell] of off.cells.entries()) {
      const corrected = on.cells[index] as Cell;
      expect(Math.abs(errorOf(slow, corrected))).toBeLessThan(0.003);
      // The zero still falls from the reference: tau · Δ · e^(−s/tau)/W of it is read as zero, so cells read low.
      const { reading, span, zero, dilution, penetration } = partOf(corrected);
      if (reading === null || span === null || zero === null) throw new Error('every cell is complete');
      const fall = (2 * (span.value - zero.value) * Math.exp(-9 / 2)) / 12.5;
      const percent = (100 * fall * (dilution / penetration)) / ((0.96 * (span.value - zero.value) * 2) / 0.94);
      const lost = (corrected.windowPercent ?? 0) - (cell.windowPercent ?? 0);
      expect(lost / percent).toBeGreaterThan(0.3);
      expect(lost / percent).toBeLessThan(1.5);
      expect(cell.flags).toContain('zero-not-settled');
    }
  });

  it('lag at tau 1 s: the cell after a step that settling does not swallow', () => {
    const steep = syntheticTrial({ leakages: [3e-4, 1.6e-3, 3.6e-3, 8.3e-3, 16], wave: 0, burst: 0 });
    const off = assess(steep.record, method({ lagCorrection: false }));
    const on = assess(steep.record, firstMethod);
    const after = (source: Assessment): Cell =>
      source.cells.find((cell) => cell.probe === 'hood' && cell.exercise === 'exercise-3') as Cell;
    expect(Math.abs(errorOf(steep, after(on)))).toBeLessThan(0.02);
    expect(errorOf(steep, after(off))).toBeGreaterThan(0.5);
    expect(after(on).flags).toContain('unsettled');
    expect(after(off).flags).toContain('unsettled');
  });

  it('settling: a window that begins at once takes in the valve and the previous port', () => {
    const hasty = assess(trial.record, method({ settling: { rule: 'fixed', seconds: 0.001 }, lagCorrection: false }));
    const first = hasty.cells.filter((cell) => cell.probe === 'hood' && cell.dwellPosition !== 1);
    for (const cell of first) expect(errorOf(trial, cell)).toBeGreaterThan(0.1);
    for (const cell of first) expect(cell.flags).toContain('unsettled');
  });

  it('guard: a window that ends too late takes in the next port', () => {
    // The last dwell of an exercise is followed by the reference, whose front comes 0.04 s after the release.
    const late = {
      ...trial.record,
      rig: {
        ...trial.record.rig,
        valveSwitchingSeconds: 0,
        instrumentDelaySeconds: { value: 0.43, standardUncertainty: 0 },
      },
    };
    const careless = assess(late, method({ guardDispersions: 0 })).cells.filter((cell) => cell.dwellPosition === 5);
    const careful = assess(late, method({ guardDispersions: 5 })).cells.filter((cell) => cell.dwellPosition === 5);
    for (const cell of careless) expect(errorOf(trial, cell)).toBeGreaterThan(0.5);
    for (const cell of careful) expect(Math.abs(errorOf(trial, cell))).toBeLessThan(0.05);
  });

  it('without bypass: a window as if there were one takes in stale air', () => {
    const still = syntheticTrial({
      bypass: false,
      leakages: [3e-4, 1.6e-3, 3.6e-3, 8.3e-3, 1.6e-2],
      wave: 0.8,
      burst: 0,
    });
    const wrong = { ...still.record, rig: { ...still.record.rig, bypass: true } };
    const hasty = method({ settling: { rule: 'fixed', seconds: 0.5 } });
    const worst = (source: Assessment): number =>
      Math.max(...source.cells.filter(({ probe }) => probe !== 'hood').map((cell) => Math.abs(errorOf(still, cell))));
    expect(worst(assess(still.record, hasty))).toBeLessThan(0.005);
    expect(worst(assess(wrong, hasty))).toBeGreaterThan(0.02);
  });
});

it('truth does not depend on when a leak moves: probe time, not arrival, is the axis', () => {
  const moving = syntheticTrial({ wave: 0.6, burst: 0 });
  for (const cell of assess(moving.record, firstMethod).cells) {
    const { reading } = partOf(cell);
    if (reading === null || cell.probe === 'hood') continue;
    expect(Math.abs(errorOf(moving, cell))).toBeLessThan(0.0015);
  }
  const misaligned = assess(moving.record, firstMethod).cells.map((cell) => {
    const { reading } = partOf(cell);
    if (reading === null) throw new Error('every cell has a window');
    const truth = moving.truthPercent(cell.probe, reading.arrivalFromMicroseconds, reading.arrivalToMicroseconds);
    return Math.abs((cell.windowPercent ?? 0) / truth - 1);
  });
  expect(Math.max(...misaligned)).toBeGreaterThan(0.05);
});
