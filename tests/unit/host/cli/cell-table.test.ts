import { describe, expect, it } from 'vitest';
import { formatAssessment } from '../../../../src/host/cli/cell-table.ts';
import type { Assessment, Cell, CellMean } from '../../../../src/leakage/assessment.ts';

function cell(probe: string, overrides: Partial<Cell>): Cell {
  return {
    exercise: 'march',
    probe,
    dwellPosition: 1,
    attempt: 1,
    windowPercent: 0.5,
    windowStandardPercent: null,
    windowLowPercent: null,
    windowHighPercent: null,
    windowExpandedPercent: null,
    degreesOfFreedom: null,
    budget: [],
    budgetGaps: ['challenge'],
    exercisePercent: null,
    exerciseLowPercent: null,
    exerciseHighPercent: null,
    detectionLimitPercent: 0.002,
    readings: 200,
    parts: [],
    flags: [],
    flagged: false,
    ...overrides,
  };
}

function mean(windowPercent: number | null): CellMean {
  return {
    windowPercent,
    ...{ windowStandardPercent: null, windowLowPercent: null, windowHighPercent: null, windowExpandedPercent: null },
    ...{ degreesOfFreedom: null, budget: [], exerciseLowPercent: null, exerciseHighPercent: null },
    protectionFactor: windowPercent === null ? null : 100 / windowPercent,
    cells: 1,
    cellsFlagged: 0,
    cellsMissing: 0,
    flags: [],
    flagged: false,
  };
}

const assessment: Assessment = {
  trial: 't-000000000000',
  virtual: true,
  method: { name: 'first', version: 1 },
  readingUnit: 'mg/m3',
  blank: null,
  slice: null,
  zeros: [],
  references: [],
  backgrounds: [],
  flags: [],
  cells: [
    cell('hood', { windowPercent: 0.0012, flags: ['below-detection-limit'] }),
    cell('chest', { windowPercent: 0.1234 }),
    cell('ankle', { windowPercent: 1.6, flags: ['gap'], flagged: true }),
    cell('thigh', { windowPercent: null, flags: ['no-zero'], flagged: true }),
  ],
  probes: ['hood', 'chest', 'ankle', 'thigh'].map((probe, index) => ({
    probe,
    ...mean([0.0012, 0.1234, 1.6, null][index] ?? null),
  })),
  exercises: [{ exercise: 'march', ...mean(0.57) }],
  overall: mean(0.57),
};

describe('the table of an assessment', () => {
  const text = formatAssessment(assessment);

  it('writes a value below its detection limit as such, never as a small number', () => {
    expect(text).toMatch(/march\s+< 0\.00200\s/);
  });

  it('carries doubt beside the number and says why below', () => {
    expect(text).toMatch(/1\.60 \*/);
    expect(text).toContain('* march, ankle: gap');
    expect(text).toMatch(/– \*/);
    expect(text).toContain('* march, thigh: no-zero');
  });

  it('marks means as it marks values, and says how many values are missing in them', () => {
    const doubtful = { flags: ['left-out' as const], flagged: true, cellsFlagged: 1 };
    const marked = formatAssessment({
      ...assessment,
      probes: assessment.probes.map((probe, index) => (index === 2 ? { ...probe, ...doubtful } : probe)),
      exercises: [{ exercise: 'march', ...mean(0.57), ...doubtful, cellsMissing: 1 }],
      overall: { ...mean(0.57), ...doubtful, cellsMissing: 1 },
    });
    expect(marked).toMatch(/march\s+< 0\.00200 .* 0\.570 \(1 missing\) \*\n/);
    expect(marked).toMatch(/mean\s+0\.00120\s+0\.123\s+1\.60 \*\s+–\s+0\.570 \(1 missing\) \*\n/);
    expect(marked).toMatch(/protection factor\s+83300\s+810\s+63 \*\s+–\s+175 \*/);
    expect(marked).toContain('A mean is of the values that there are');
    expect(text).not.toContain('A mean is of');
  });

  it('gives protection factors to three digits and none where there is no mean', () => {
    expect(text).toMatch(/protection factor\s+83300\s+810\s+63\s+–\s+175/);
  });
});
