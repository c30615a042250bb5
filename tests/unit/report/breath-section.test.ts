import { describe, expect, it } from 'vitest';
import { breathSection } from '../../../src/report/breath-section.ts';
import { textOf, type Section } from '../../../src/report/document.ts';
import type { ReportSource } from '../../../src/report/source.ts';
import { tellExercises } from '../../../src/report/story.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { reportSource } from '../../support/report/report-source.ts';
import { withFlow as flowOf } from '../../support/with-flow.ts';

const breath = { probes: ['hood'], seconds: 3.7, inspired: 0.42 };
const source = reportSource({ breath });
const exercises = tellExercises(source.record);
const [first] = exercises;
const began = (first?.beganAtMicroseconds ?? 0) / 1e6;

const rowsOf = (section: Section | null): string[][] => {
  const block = section?.blocks[0];
  if (block?.block !== 'table') throw new Error('there is no table');
  return block.rows.map((row) => row.map(({ words }) => textOf(words)));
};

/** The same trial with another flow. */
const withFlow = (change: Parameters<typeof flowOf>[1]): ReportSource => ({
  ...source,
  record: flowOf(source.record, change),
});

describe('breath in the report', () => {
  it('is missing where no instrument gives its flow', () => {
    const bare = reportSource();
    expect(breathSection(bare, tellExercises(bare.record))).toBeNull();
    expect(trialReport(bare).sections.some(({ id }) => id === 'breath')).toBe(false);
  });

  it('is what the formula of the flow makes it: half a sine holds 2/π of its height, its baseline taken off', () => {
    const rows = rowsOf(breathSection(source, exercises));
    const litres = ((20 * 3.7) / 60) * (2 / Math.PI);
    expect(rows).toHaveLength(exercises.length);
    for (const row of rows) {
      const [rate, volume, ventilation, inward, outward] = row.slice(1, 6).map(Number);
      expect(Math.abs((rate ?? 0) / (60 / 3.7) - 1)).toBeLessThan(0.01);
      expect(Math.abs((volume ?? 0) / litres - 1)).toBeLessThan(0.01);
      expect(Math.abs((ventilation ?? 0) / ((60 / 3.7) * litres) - 1)).toBeLessThan(0.01);
      expect(Math.abs((inward ?? 0) - 3.7 * 0.42)).toBeLessThan(0.02);
      expect(Math.abs((outward ?? 0) - 3.7 * 0.58)).toBeLessThan(0.02);
    }
    expect(trialReport(source).sections.some(({ id }) => id === 'breath')).toBe(true);
  });

  it('bridges no silence: each side of it counts by itself', () => {
    const silent = withFlow((at, flow) => (at > began + 40 && at < began + 42 ? null : flow));
    const rows = rowsOf(breathSection(silent, exercises));
    const whole = rowsOf(breathSection(source, exercises));
    expect(Number(rows[0]?.[6])).toBeLessThan(Number(whole[0]?.[6]));
    expect(Number(rows[0]?.[6])).toBeGreaterThanOrEqual(Number(whole[0]?.[6]) - 3);
    expect(rows[0]?.[1]).toBe(whole[0]?.[1]);
    expect(rows[1]).toEqual(whole[1]);
  });

  it('has dashes where nothing tells, and words where nothing was read', () => {
    const still = rowsOf(breathSection(withFlow(() => 0), exercises));
    for (const row of still) expect(row.slice(1)).toEqual(['–', '–', '–', '–', '–', '0']);
    const none = breathSection(withFlow(() => null), exercises);
    expect(none?.blocks[0]?.block).toBe('paragraph');
  });
});
