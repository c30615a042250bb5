import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { methodForRig, usableOptions } from '../../../src/leakage/method-for-rig.ts';
import type { Exercise, Series } from '../../../src/model/series.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { seriesFaults } from '../../../src/series/faults.ts';
import { remarkWords } from '../../../src/series/remark-words.ts';
import { seriesRemarks } from '../../../src/series/remarks.ts';
import { seriesTemplates } from '../../../src/series/templates.ts';

const { rig } = demo;
const options = usableOptions(methodForRig(rig));
const kinds = (series: Series): string[] => seriesRemarks(series, rig, options).map(({ kind }) => kind);

/** The demo with its first exercise changed. */
function withFirst(change: Partial<Exercise>): Series {
  const exercises = demo.series.exercises.map((one, index) => (index === 0 ? { ...one, ...change } : one));
  return { ...demo.series, exercises };
}

describe('what speaks against a series', () => {
  it('is nothing in the demo, and nothing in any template on its rig', () => {
    for (const { series } of [{ series: demo.series }, ...seriesTemplates]) {
      expect([series.name, kinds(series)]).toEqual([series.name, []]);
    }
  });

  it.each<[Partial<Exercise>, string, RegExp]>([
    [{ dwellsPerProbe: 3 }, 'little-usable-air', /^15 dwells on a probe leave less than 3 s/],
    [{ dwellsPerProbe: 4 }, 'no-usable-air', /^20 dwells on a probe are too short to settle/],
    [{ dwellsPerProbe: 6, durationSeconds: 40 }, 'not-for-rig', /^This rig cannot run it: a probe dwell .* \(march\)/],
    [{ restSeconds: 20, restZeroSeconds: 20 }, 'no-reference', /^No chamber reference before March on the spot/],
    [{ restZeroSeconds: 0, leadInSeconds: 0 }, 'no-zero', /^No zero before March on the spot/],
    [{ leadInSeconds: 0 }, 'no-lead-in', /^No lead-in in March on the spot/],
    [{ cadencePerMinute: 4 }, 'less-than-a-movement', /shorter than one movement in March on the spot/],
    [{ durationSeconds: 700 }, 'long-unreferenced', /not read again for more than 10 min/],
    [{ restSeconds: 4500 }, 'very-long', /^\d+ min from entering to leaving/],
    [{ workRateWatts: 301 }, 'hard-work', /^More than 300 W in March on the spot/],
  ])('says of %o: %s', (change, kind, words) => {
    const found = seriesRemarks(withFirst(change), rig, options).find((remark) => remark.kind === kind);
    expect(found === undefined ? kinds(withFirst(change)) : remarkWords(found)).toMatch(words);
  });

  it('counts the longest entry, which may be all that makes it too long', () => {
    const inside = (maximumSeconds: number): string[] =>
      kinds({ ...demo.series, entry: { ...demo.series.entry, maximumSeconds } });
    // 10 exercises of 110 s with 30 s of rest, closing 28 + 22 s: 1450 s without the entry.
    const without = demo.series.exercises.reduce((sum, one) => sum + one.restSeconds + one.durationSeconds, 0);
    const { referenceSeconds, zeroSeconds } = demo.series.closing;
    const left = 5400 - without - referenceSeconds - zeroSeconds;
    expect([inside(left), inside(left + 1)]).toEqual([[], ['very-long']]);
  });

  it('says of little rest between work and work only', () => {
    const two = (before: number | null, after: number | null, restSeconds: number): string[] =>
      seriesRemarks(
        {
          ...demo.series,
          exercises: demo.series.exercises.slice(0, 2).map((one, index) => ({
            ...one,
            ...(index === 0 ? { workRateWatts: before } : { workRateWatts: after, restSeconds }),
          })),
        },
        null,
        options,
      ).map(({ kind }) => kind);
    expect([two(50, 300, 9.9), two(50, 300, 10), two(null, 300, 9.9), two(50, 0, 9.9)]).toEqual([
      ...[['short-rest'], [], [], []],
    ]);
  });

  it('says that a probe is never seen where none of its dwells settles, though others are', () => {
    const ports = rig.ports.map((port) =>
      port.probe === 'ankle' ? { ...port, transitSeconds: { value: 14, standardUncertainty: 0.1 } } : port,
    );
    const long = { ...rig, bypass: false, ports };
    const found = seriesRemarks(demo.series, long, options).find(({ kind }) => kind === 'never-seen');
    expect(found).toEqual({ kind: 'never-seen', probe: 'Ankle' });
  });

  it('is told of the series alone where no rig is chosen', () => {
    const series = { ...withFirst({ leadInSeconds: 0 }), order: { ...demo.series.order, kind: 'fixed' as const } };
    expect(seriesRemarks(series, null, options).map(({ kind }) => kind)).toEqual(['no-lead-in']);
    expect(kinds(series)).toEqual(['no-usable-air', 'fixed-order', 'no-lead-in']);
  });
});

describe('what contradicts itself in a series', () => {
  const times = fc.integer({ min: 0, max: 60 });
  it('is exactly what no rig can run: a sound series with dwells long enough compiles', () => {
    fc.assert(
      fc.property(times, times, times, times, times, times, (rest, zero, leadIn, more, least, most) => {
        const series: Series = {
          ...withFirst({
            ...{ restSeconds: rest + 20, restZeroSeconds: zero, leadInSeconds: leadIn + 20 },
            durationSeconds: Math.max(1, leadIn + 20 + (more - 5) * 20),
          }),
          entry: { ...demo.series.entry, minimumSeconds: least + 5, maximumSeconds: most + 5 },
        };
        const entry = most < least || most + 5 < series.entry.steadyWindowSeconds;
        const contradicts = entry || zero > rest + 20 || more <= 5;
        expect(seriesFaults(series).length > 0).toBe(contradicts);
        const reference = rest + 20 - zero;
        if (contradicts) expect(() => compileSchedule(series, rig)).toThrow();
        // Long enough: five dwells of 4 s each at least, and a reference of 3 s or none.
        else if (reference === 0 || reference >= 3) compileSchedule(series, rig);
      }),
      { numRuns: 300 },
    );
  });

  it('names member, place and remedy of each, all at once', () => {
    const exercises = demo.series.exercises.slice(0, 2).map((one) => ({
      ...one,
      ...{ exercise: 'same', restZeroSeconds: 31, leadInSeconds: 110 },
    }));
    const faults = seriesFaults({ ...demo.series, exercises, entry: { ...demo.series.entry, maximumSeconds: 10 } });
    expect(faults.map(({ path }) => path)).toEqual([
      'entry.maximumSeconds',
      'entry.steadyWindowSeconds',
      'exercises.0.restZeroSeconds',
      'exercises.0.leadInSeconds',
      'exercises.1.exercise',
      'exercises.1.restZeroSeconds',
      'exercises.1.leadInSeconds',
    ]);
    for (const { what, where, remedy } of faults) expect(what && where && remedy).toBeTruthy();
  });
});
