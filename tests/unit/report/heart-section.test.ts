import { describe, expect, it } from 'vitest';
import { textOf, type Section, type Table } from '../../../src/report/document.ts';
import { heartSection } from '../../../src/report/heart-section.ts';
import type { ReportSource } from '../../../src/report/source.ts';
import { tellExercises } from '../../../src/report/story.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { reportSource } from '../../support/report/report-source.ts';

const bare = reportSource();
const exercises = tellExercises(bare.record);

/** The same trial with a belt that gives a reading a second. */
function withBelt(rate: (second: number) => number, limit?: number): ReportSource {
  const length = Math.ceil(bare.endMicroseconds / 1e6);
  const atMicroseconds = Float64Array.from({ length }, (_, second) => second * 1e6);
  const descriptor = {
    instrument: 'belt',
    stream: 'heart-rate',
    unit: 'per-minute' as const,
    resolution: 1,
    plausibleLow: 30,
    plausibleHigh: 230,
    expectedIntervalSeconds: 1,
    silenceLimitSeconds: 5,
  };
  const stream = { descriptor, atMicroseconds, values: atMicroseconds.map((at) => rate(at / 1e6)) };
  const { record } = bare;
  const header = limit === undefined ? record.header : { ...record.header, heartRateLimit: limit };
  const rig = { ...record.rig, heartRate: 'belt' };
  return { ...bare, record: { ...record, header, rig, streams: [...record.streams, stream] } };
}

function tableOf(section: Section | null): Table {
  const block = section?.blocks[0];
  if (block?.block !== 'table') throw new Error('there is no table');
  return block;
}

const texts = (table: Table): string[][] => table.rows.map((row) => row.map(({ words }) => textOf(words)));

describe('heart rate in the report', () => {
  it('is missing where the rig has no belt', () => {
    expect(bare.record.rig.heartRate).toBeNull();
    expect(heartSection(bare, exercises)).toBeNull();
    expect(trialReport(bare).sections.some(({ id }) => id === 'heart')).toBe(false);
  });

  it('gives mean and highest of each exercise, from its beginning to its end', () => {
    const [first] = exercises;
    const began = (first?.beganAtMicroseconds ?? 0) / 1e6;
    const ended = (first?.endedAtMicroseconds ?? 0) / 1e6;
    const source = withBelt((second) => (second >= began && second <= ended ? 120 : 90));
    const rows = texts(tableOf(heartSection(source, exercises)));
    expect(rows).toHaveLength(exercises.length);
    expect(rows[0]?.slice(1, 3)).toEqual(['120', '120']);
    expect(rows[1]?.slice(1, 3)).toEqual(['90.0', '90.0']);
    expect(trialReport(withBelt(() => 100)).sections.some(({ id }) => id === 'heart')).toBe(true);
  });

  it('holds the highest against the limit of the trial, and flags what is beyond', () => {
    const table = tableOf(heartSection(withBelt(() => 150, 120), exercises));
    expect(texts(table)[0]?.[3]).toMatch(/^125.%$/);
    expect(table.rows[0]?.[2]?.flagged).toBe(true);
    expect(tableOf(heartSection(withBelt(() => 110, 120), exercises)).rows[0]?.[2]?.flagged).toBe(false);
  });

  it('says that no age is known, and how many readings are no heart’s', () => {
    const source = withBelt((second) => (second % 2 === 0 ? 100 : 0));
    const notes = tableOf(heartSection(source, exercises)).notes.map(textOf);
    expect(notes[0]).toMatch(/no age/);
    expect(notes[1]).toMatch(/readings outside 30 to 230/);
  });

  it('shows a dash where nothing was read, and says so where the belt was silent throughout', () => {
    expect(texts(tableOf(heartSection(withBelt(() => 0), exercises)))[0]?.slice(1, 3)).toEqual(['–', '–']);
    const silent = withBelt(() => 100);
    const record = { ...silent.record, streams: bare.record.streams };
    expect(heartSection({ ...silent, record }, exercises)?.blocks[0]).toMatchObject({ block: 'paragraph' });
  });
});
