import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import type { SeriesChange, SeriesDraft } from '../../../../renderer/series/series-draft.ts';
import { changeSeries, freeSlug, readSeriesDraft } from '../../../../renderer/series/series-draft.ts';
import { sameFields, seriesDraft, versionAskedFor } from '../../../../renderer/series/series-draft.ts';
import { timeSeries } from '../../../../renderer/series/series-timing.ts';
import { slugSchema } from '../../../../src/model/identity.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import { sameSeries } from '../../../../src/series/own-series.ts';
import { seriesTemplates } from '../../../../src/series/templates.ts';

const { rig, series } = demo;
const after = (...changes: SeriesChange[]): SeriesDraft => changes.reduce(changeSeries, seriesDraft(series));
const names = (draft: SeriesDraft): string[] => draft.exercises.map(({ name }) => name);

describe('a draft of a series', () => {
  it('reads back as what it was begun from', () => {
    for (const one of [series, ...seriesTemplates.map((template) => template.series)]) {
      expect(readSeriesDraft(seriesDraft(one))).toEqual({ series: one, problems: new Map() });
    }
  });

  it('says where a series under another name was begun', () => {
    const begun = readSeriesDraft(seriesDraft(series, 'Ours')).series;
    expect(begun?.name).toBe('Ours');
    expect(begun?.source).toBe(`Begun from "${series.name}", version 1. ${series.source}`);
    expect(begun === null || sameSeries(begun, series)).toBe(false);
    expect(sameSeries({ ...series, version: 7 }, series)).toBe(true);
  });

  it('adds, duplicates, moves and removes where the chosen exercise is', () => {
    const duplicated = after({ change: 'choose', index: 1 }, { change: 'duplicate' });
    expect(names(duplicated).slice(0, 4)).toEqual([
      ...['March on the spot', 'Deep knee bends', 'Deep knee bends 2', 'Overhead reach'],
    ]);
    expect(duplicated.exercises[2]?.exercise).toBe('knee-bends-2');
    expect(duplicated.chosen).toBe(2);
    const moved = changeSeries(duplicated, { change: 'move', by: -1 });
    expect(names(moved).slice(1, 3)).toEqual(['Deep knee bends 2', 'Deep knee bends']);
    expect(names(changeSeries(moved, { change: 'remove' }))).toEqual(names(seriesDraft(series)));
    const added = after({ change: 'add' });
    expect(added.exercises[1]).toMatchObject({ name: 'New exercise', instruction: '', exercise: 'new-exercise' });
    expect(readSeriesDraft(added).problems.get('exercises.1.instruction')).toEqual({ kind: 'empty' });
  });

  it('puts removed exercises back where they were, the last one first, under a short name that is free', () => {
    const begun = seriesDraft(series);
    const removed = after({ change: 'choose', index: 2 }, { change: 'remove' }, { change: 'remove' });
    expect(removed.exercises).toHaveLength(8);
    const restored = [1, 2, 3].reduce((draft) => changeSeries(draft, { change: 'restore' }), removed);
    expect(sameFields(restored, begun)).toBe(true);
    const retaken = after({ change: 'remove' }, { change: 'exercise', value: { exercise: 'march' } });
    expect(changeSeries(retaken, { change: 'restore' }).exercises.map(({ exercise }) => exercise).slice(0, 2)).toEqual([
      ...['march-2', 'march'],
    ]);
  });

  it('asks for the version of a file as it is, and for one above it and the laboratory when it was changed', () => {
    const file = seriesDraft({ ...series, version: 5 }, series.name, true);
    const asked = (draft: SeriesDraft, version: number | null): number => {
      const newest = version === null ? null : { ...series, version };
      return versionAskedFor(draft, readSeriesDraft(draft).series ?? series, newest);
    };
    expect([asked(file, null), asked(file, 3), asked(file, 5)]).toEqual([5, 5, 6]);
    const changed = changeSeries(file, { change: 'text', field: 'source', value: 'Ours.' });
    expect([asked(changed, null), asked(changed, 3), asked(changed, 8)]).toEqual([6, 6, 9]);
    expect(asked(changeSeries(changed, { change: 'text', field: 'name', value: 'Ours' }), null)).toBe(1);
    expect(asked(after({ change: 'text', field: 'source', value: 'Ours.' }), 3)).toBe(4);
  });

  it('keeps what was typed while it was kept, and makes one line of a text', () => {
    const typed = after({ change: 'exercise', value: { instruction: 'March.\n Look  ahead.\n' } });
    const kept = changeSeries(typed, { change: 'kept', series: { ...series, version: 9 } });
    expect(sameFields(kept, typed)).toBe(true);
    expect(kept.base.version).toBe(9);
    expect(readSeriesDraft(kept).series?.exercises[0]?.instruction).toBe('March. Look  ahead.');
  });

  it('has the short name follow the name until it has one of its own', () => {
    const named = after({ change: 'add' }, { change: 'exercise', value: { name: 'Ångström, twice!' } });
    expect(named.exercises[1]?.exercise).toBe('angstrom-twice');
    const own = changeSeries(named, { change: 'exercise', value: { exercise: 'lift' } });
    expect(changeSeries(own, { change: 'exercise', value: { name: 'Other' } }).exercises[1]?.exercise).toBe('lift');
    // What results are listed by does not change because somebody corrects a name.
    expect(after({ change: 'exercise', value: { name: 'Marching' } }).exercises[0]?.exercise).toBe('march');
  });

  it('puts what is wrong beside its field, and what contradicts itself too', () => {
    const wrong = after(
      { change: 'text', field: 'name', value: ' ' },
      { change: 'around', field: 'entry.maximumSeconds', value: '10' },
      { change: 'exercise', value: { restSeconds: 'x', leadInSeconds: '110', dwellsPerProbe: '7' } },
    );
    const { problems, series: read } = readSeriesDraft(wrong);
    expect(read).toBeNull();
    expect([...problems.keys()].sort()).toEqual([
      ...['entry.maximumSeconds', 'entry.steadyWindowSeconds', 'exercises.0.dwellsPerProbe'],
      ...['exercises.0.leadInSeconds', 'exercises.0.restSeconds', 'exercises.0.restZeroSeconds', 'name'],
    ]);
    expect(problems.get('exercises.0.restSeconds')).toEqual({ kind: 'not-a-number' });
  });

  it('stays whole under any changes: one chosen, all apart, and what reads compiles or is said', () => {
    const change: fc.Arbitrary<SeriesChange> = fc.oneof(
      fc.constantFrom<SeriesChange>({ change: 'add' }, { change: 'duplicate' }),
      fc.constantFrom<SeriesChange>({ change: 'remove' }, { change: 'restore' }),
      fc.constantFrom<SeriesChange>({ change: 'move', by: 1 }, { change: 'move', by: -1 }),
      fc.record({ change: fc.constant('choose' as const), index: fc.integer({ min: -2, max: 15 }) }),
      fc.record({
        change: fc.constant('exercise' as const),
        value: fc.record(
          {
            name: fc.string({ maxLength: 20 }),
            restSeconds: fc.nat(60).map(String),
            dwellsPerProbe: fc.nat(7).map(String),
          },
          { requiredKeys: [] },
        ),
      }),
    );
    fc.assert(
      fc.property(fc.array(change, { maxLength: 25 }), (changes) => {
        const draft = after(...changes);
        expect(draft.exercises[draft.chosen]).toBeDefined();
        expect(new Set(draft.exercises.map(({ key }) => key)).size).toBe(draft.exercises.length);
        expect(new Set(draft.exercises.map(({ exercise }) => exercise)).size).toBe(draft.exercises.length);
        const read = readSeriesDraft(draft).series;
        if (read === null) return;
        const timing = timeSeries(read, rig);
        const inTime = timing.line.reduce((sum, { seconds }) => sum + seconds, 0);
        expect(inTime).toBeCloseTo(timing.totalSeconds, 6);
        const impossible = timing.remarks.some(({ kind }) => kind === 'not-for-rig');
        if (impossible) expect(timing.schedule).toBeNull();
        else expect(compileSchedule(read, rig).durationMicroseconds / 1e6).toBeCloseTo(timing.totalSeconds, 5);
      }),
      { numRuns: 200 },
    );
  });

  it('makes short names that the model takes', () => {
    fc.assert(
      fc.property(fc.string(), fc.array(fc.string(), { maxLength: 3 }), (name, others) => {
        const slug = freeSlug(name, [freeSlug(name, []), ...others]);
        expect(slugSchema.safeParse(slug).success).toBe(true);
        expect(slug).not.toBe(freeSlug(name, []));
      }),
    );
  });
});
