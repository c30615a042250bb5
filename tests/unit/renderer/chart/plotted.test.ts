import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { plot } from '../../../../renderer/chart/plotted.ts';
import { createStreamRing } from '../../../../renderer/chart/stream-ring.ts';

interface Point {
  readonly at: number;
  readonly value: number;
}

const positive = (value: number): number | null => (value > 0 ? value : null);

function plotted(
  points: readonly Point[],
  columnMicroseconds: number,
  silenceMicroseconds = 1000,
): { lines: Point[][]; newest: number } {
  const ring = createStreamRing(100_000);
  ring.add(
    Float64Array.from(points, ({ at }) => at),
    Float64Array.from(points, ({ value }) => value),
  );
  const lines: Point[][] = [];
  const newest = plot(
    ring,
    { from: 0, to: Number.POSITIVE_INFINITY, columnMicroseconds, silenceMicroseconds, placeOf: positive },
    {
      begin: (at, value) => lines.push([{ at, value }]),
      on: (at, value) => lines.at(-1)?.push({ at, value }),
    },
  );
  return { lines, newest };
}

/** Every reading, one line for each stretch without a gap. */
function everyReading(points: readonly Point[], silence: number): Point[][] {
  const lines: Point[][] = [];
  let before: Point | null = null;
  for (const point of points) {
    const gap = before === null || point.at - before.at > silence || positive(before.value) === null;
    before = point;
    if (positive(point.value) === null) continue;
    if (gap) lines.push([point]);
    else lines.at(-1)?.push(point);
  }
  return lines;
}

const readings = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 60 }), fc.integer({ min: -3, max: 30 })), { maxLength: 300 })
  .map((steps) => {
    let at = 0;
    return steps.map(([step, value]) => ({ at: (at += step), value }));
  });

const extremes = (points: readonly Point[]): [number, number] => [
  Math.min(...points.map(({ value }) => value)),
  Math.max(...points.map(({ value }) => value)),
];

describe('a line on a screen', () => {
  it('keeps every reading where there are few', () => {
    fc.assert(
      fc.property(readings, (points) => {
        expect(plotted(points, 0.5, 40).lines).toEqual(everyReading(points, 40));
      }),
    );
  });

  it('keeps ends, lowest and highest of each column of each stretch, in order, and at most four readings', () => {
    fc.assert(
      fc.property(readings, fc.integer({ min: 1, max: 400 }), (points, column) => {
        const { lines } = plotted(points, column, 40);
        const all = everyReading(points, 40);
        expect(lines.length).toBe(all.length);
        for (const [index, line] of lines.entries()) {
          const whole = all[index] ?? [];
          expect(line.map(({ at }) => at)).toEqual([...line.map(({ at }) => at)].sort((a, b) => a - b));
          for (const columnNumber of new Set(whole.map(({ at }) => Math.floor(at / column)))) {
            const within = ({ at }: Point): boolean => Math.floor(at / column) === columnNumber;
            const [shown, there] = [line.filter(within), whole.filter(within)];
            expect(shown.length).toBeLessThanOrEqual(4);
            expect(there).toEqual(expect.arrayContaining(shown));
            expect([shown[0], shown.at(-1), extremes(shown)]).toEqual([there[0], there.at(-1), extremes(there)]);
          }
        }
      }),
    );
  });

  it('does not change what it made of a column when time goes on', () => {
    const points = Array.from({ length: 400 }, (_, index) => ({ at: 7 * index, value: 1 + ((index * 37) % 23) }));
    const earlier = plotted(points.slice(0, 300), 50).lines.flat();
    const later = plotted(points, 50).lines.flat();
    // The column that was not over may still change.
    expect(later.slice(0, earlier.length - 4)).toEqual(earlier.slice(0, -4));
  });

  it('says how new the newest reading with a place is', () => {
    expect(plotted([], 10).newest).toBe(Number.NEGATIVE_INFINITY);
    const three = [
      { at: 5, value: 2 },
      { at: 9, value: 3 },
      { at: 12, value: 0 },
    ];
    expect(plotted(three, 100).newest).toBe(9);
  });
});
