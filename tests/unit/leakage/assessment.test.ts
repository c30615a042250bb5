import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import type { Cell } from '../../../src/leakage/assessment.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { cellOf, healthy, ofProbe, readingNoise, record, withReadings } from '../../support/spoiled-trial.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

describe('a healthy trial', () => {
  it('has one cell for each exercise and probe, none flagged', () => {
    expect(healthy.cells).toHaveLength(15);
    expect(healthy.cells.filter(({ flagged }) => flagged)).toEqual([]);
    expect(healthy.flags.filter((flag) => flag !== 'below-detection-limit')).toEqual([]);
    expect(healthy.overall).toMatchObject({ cells: 15, cellsFlagged: 0, cellsMissing: 0, flagged: false });
  });

  it('knows its scatter from filtered air', () => {
    expect(healthy.blank?.standardDeviation).toBeGreaterThan(0.95 * readingNoise);
    expect(healthy.blank?.standardDeviation).toBeLessThan(1.05 * readingNoise);
  });

  it('leaves intervals null where the trial does not show how the challenge moves, and says so', () => {
    const short = assess(syntheticTrial({ exercises: 1 }).record, firstMethod);
    expect(short.references).toHaveLength(2);
    expect(short.cells).toHaveLength(5);
    for (const cell of short.cells) {
      expect(cell).toMatchObject({
        windowStandardPercent: null,
        windowLowPercent: null,
        windowHighPercent: null,
        windowExpandedPercent: null,
        degreesOfFreedom: null,
        budget: [],
        budgetGaps: ['challenge'],
        exercisePercent: cell.windowPercent,
        exerciseLowPercent: null,
        exerciseHighPercent: null,
      });
      expect(cell.windowPercent).not.toBeNull();
    }
    expect(short.overall).toMatchObject({ windowLowPercent: null, exerciseLowPercent: null, budget: [] });
  });

  it('can be recomputed by hand from what each cell carries', () => {
    for (const cell of healthy.cells) {
      const [part] = cell.parts;
      if (part?.reading == null || part.zero === null || part.span === null || part.background === null)
        throw new Error('incomplete');
      const { reading, zero, span, background } = part;
      const dwell = [...healthy.zeros, ...healthy.references];
      const by = (number: number | null) =>
        dwell.find((candidate) => candidate.dwell === number)?.correctedReading ?? Number.NaN;
      for (const value of [zero, span, background.zero]) {
        const again = (1 - value.weightAfter) * by(value.beforeDwell) + value.weightAfter * by(value.afterDwell);
        expect(again).toBeCloseTo(value.value, 12);
      }
      expect(reading.meanReading + reading.lagTerm).toBe(reading.correctedReading);
      const inside =
        ((reading.correctedReading - zero.value - background.netReading) * part.dilution) / part.penetration;
      const challenge =
        (part.spatialFactor * (span.value - zero.value) * part.referenceDilution) / part.referencePenetration;
      expect((100 * inside) / challenge).toBeCloseTo(cell.windowPercent ?? Number.NaN, 10);
    }
  });

  it('repeats bit for bit, survives JSON, and leaves the record as it was', () => {
    const before = record.streams[0]?.values.slice();
    expect(JSON.stringify(assess(record, firstMethod))).toBe(JSON.stringify(healthy));
    expect(JSON.parse(JSON.stringify(healthy))).toEqual(healthy);
    expect(record.streams[0]?.values).toEqual(before);
  });

  it('means are those of the cells, and factors their harmonic form', () => {
    const mean = (cells: readonly Cell[]) =>
      cells.reduce((sum, cell) => sum + (cell.windowPercent ?? 0), 0) / cells.length;
    for (const { probe, windowPercent, protectionFactor } of healthy.probes) {
      expect(windowPercent).toBeCloseTo(mean(healthy.cells.filter((cell) => cell.probe === probe)), 12);
      expect(protectionFactor).toBeCloseTo(100 / (windowPercent ?? 0), 9);
    }
    expect(healthy.exercises.map(({ exercise }) => exercise)).toEqual(['exercise-1', 'exercise-2', 'exercise-3']);
    expect(healthy.overall.windowPercent).toBeCloseTo(mean(healthy.cells), 12);
  });

  it('assesses 34 000 readings in less than 50 ms', () => {
    const long = syntheticTrial({ exercises: 10 }).record;
    expect(long.streams[0]?.values.length).toBeGreaterThan(33_000);
    const times = Array.from({ length: 7 }, () => {
      const begun = performance.now();
      assess(long, firstMethod);
      return performance.now() - begun;
    });
    expect(Math.min(...times)).toBeLessThan(50);
  });
});

describe('detection limit', () => {
  /** So much that even behind the largest dilution a line through which nothing flows would show. */
  const background = 5e-4;

  it('is three times the scatter of cells that hold no leakage', () => {
    const scaled: number[] = [];
    let belowZero = 0;
    for (let seed = 1; seed <= 12; seed += 1) {
      const empty = syntheticTrial({ seed, noise: 4e-5, background, leakages: [0, 0, 0, 0, 0] });
      for (const cell of assess(empty.record, firstMethod).cells) {
        for (const flag of cell.flags) expect(['below-detection-limit', 'below-zero']).toContain(flag);
        belowZero += cell.flagged ? 1 : 0;
        scaled.push((cell.windowPercent ?? Number.NaN) / ((cell.detectionLimitPercent ?? Number.NaN) / 3));
      }
    }
    const rms = Math.sqrt(scaled.reduce((sum, z) => sum + z * z, 0) / scaled.length);
    expect(scaled).toHaveLength(180);
    // Three standard uncertainties below nothing: one cell in 740 by chance, and cells share zero and background.
    expect(belowZero).toBeLessThanOrEqual(3);
    expect(rms).toBeGreaterThan(0.8);
    expect(rms).toBeLessThan(1.2);
  });

  it('grows with the dilution, keeps the signed number and does not make a cell doubtful', () => {
    const quiet = syntheticTrial({ noise: 4e-5, background, leakages: [0, 1e-2, 0, 0, 0] });
    const assessment = assess(quiet.record, firstMethod);
    const limit = (probe: string) => cellOf(assessment, 'exercise-1', probe).detectionLimitPercent ?? 0;
    expect(limit('ankle') / limit('chest')).toBeGreaterThan(18);
    expect(limit('ankle') / limit('chest')).toBeLessThan(23);
    expect(cellOf(assessment, 'exercise-1', 'hood').flags).toEqual(['below-detection-limit']);
    expect(cellOf(assessment, 'exercise-1', 'chest').flags).toEqual([]);
    expect(assessment.cells.some(({ flagged }) => flagged)).toBe(false);
    expect(assessment.cells.some(({ windowPercent }) => (windowPercent ?? 0) < 0)).toBe(true);
    expect(assessment.overall.flags).toEqual([]);
  });

  it('is never finer than the resolution allows, where filtered air hardly scatters', () => {
    const coarse = syntheticTrial({ noise: 0, zeroDrift: 0, spanDrift: 0 }).record;
    const rounded = withReadings(0, Infinity, (value) => Math.round(value * 1000) / 1000, coarse);
    const [stream] = rounded.streams;
    if (stream === undefined) throw new Error('no stream');
    const assessment = assess(
      { ...rounded, streams: [{ ...stream, descriptor: { ...stream.descriptor, resolution: 0.001 } }] },
      firstMethod,
    );
    expect(assessment.blank?.standardDeviation).toBeLessThan(0.5 * (0.001 / Math.sqrt(12)));
    expect(cellOf(assessment, 'exercise-1', 'chest').detectionLimitPercent).toBeGreaterThan(0.0005);
    expect(cellOf(assessment, 'exercise-1', 'chest').flags).toEqual([]);
  });
});

it('says nothing of a window whose readings all came at one moment, as a serial server may pack them', () => {
  const where = ofProbe('exercise-1', 'chest');
  const [stream] = record.streams;
  if (stream === undefined) throw new Error('no stream');
  const moment = where.from + 12e6;
  const atMicroseconds = stream.atMicroseconds.map((at) => (at >= where.from && at < where.to + 1e6 ? moment : at));
  const packed = { ...record, streams: [{ ...stream, atMicroseconds }] };
  const cell = cellOf(assess(packed, firstMethod), 'exercise-1', 'chest');
  expect(cell.windowPercent).toBeNull();
  expect(cell.flags).toContain('gap');
});
