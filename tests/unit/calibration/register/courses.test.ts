import { describe, expect, it } from 'vitest';
import type { KeptCheck } from '../../../../src/calibration/check/standing.ts';
import { figure } from '../../../../src/calibration/check/vocabulary.ts';
import { checksTelling, resultsDuring, staysOf } from '../../../../src/calibration/register/courses.ts';
import type { RegisterEntry, RegisterRecord } from '../../../../src/calibration/register/record.ts';
import { daysLeft, foldRegister } from '../../../../src/calibration/register/register.ts';

const photometer = (instrument: string): RegisterEntry => ({
  ...{ entry: 'instrument', instrument, kind: 'photometer', maker: 'a maker', model: 'a model', serial: instrument },
});
const placed = (instrument: string, rig: string | null, name = 'photometer'): RegisterEntry => ({
  ...{ entry: 'placed', instrument, rig },
  at: rig === null ? null : { place: 'instrument', name },
});
/** One record a day, from the first of February. */
const records = (...entries: RegisterEntry[]): RegisterRecord[] =>
  entries.map((entry, index) => ({
    ...{ number: index + 1, person: 'tom', entry },
    at: `2026-02-${String(index + 1).padStart(2, '0')}T08:00:00.000Z`,
  }));
const at = (day: number, hour = 8): number => Date.UTC(2026, 1, day, hour);

describe('where an instrument has worked', () => {
  it('ends when it is placed elsewhere, when another takes its place, and when it is retired', () => {
    const all = records(
      ...[photometer('A'), photometer('B'), placed('A', 'first'), placed('A', 'second'), placed('B', 'second')],
      ...[placed('A', 'first'), { entry: 'retired', instrument: 'A', reason: 'broken' } as const],
    );
    const place = { place: 'instrument', name: 'photometer' } as const;
    expect(staysOf('A', all, Date.parse)).toEqual([
      { rig: 'first', at: place, fromMilliseconds: at(3), untilMilliseconds: at(4) },
      { rig: 'second', at: place, fromMilliseconds: at(4), untilMilliseconds: at(5) },
      { rig: 'first', at: place, fromMilliseconds: at(6), untilMilliseconds: at(7) },
    ]);
    const [ofB] = staysOf('B', all, Date.parse);
    expect(ofB).toEqual({ rig: 'second', at: place, fromMilliseconds: at(5), untilMilliseconds: null });
    // The last stay is where the register says that it works, for every prefix of the records.
    for (let many = 0; many <= all.length; many += 1) {
      for (const entry of foldRegister(all.slice(0, many))) {
        const last = staysOf(entry.instrument, all.slice(0, many), Date.parse).at(-1);
        const here = last?.untilMilliseconds === null ? { rig: last.rig, at: last.at } : null;
        expect(here).toEqual(entry.placed);
      }
    }
  });

  it('is not ended by something of another kind, nor by a record of what is not known', () => {
    const contact: RegisterEntry = { ...photometer('C'), entry: 'instrument', kind: 'other' } as RegisterEntry;
    const all = records(photometer('A'), placed('A', 'first'), contact, placed('C', 'first'), placed('ghost', 'first'));
    expect(staysOf('A', all, Date.parse).map(({ untilMilliseconds }) => untilMilliseconds)).toEqual([null]);
    expect(staysOf('ghost', all, Date.parse)).toEqual([]);
  });
});

describe('checks that tell of an instrument', () => {
  const names = (of: ReturnType<typeof checksTelling>): string[] =>
    of.map(({ check, figure: begin, subject }) => [check, subject ?? '', begin].join(' ').trim());

  it('are those of its kind at its place, and its own rhythm', () => {
    const instrument = { place: 'instrument', name: 'photometer' } as const;
    expect(names(checksTelling('photometer', instrument))).toEqual([
      ...['zero', 'span', 'detection-limit', 'linearity', 'response', 'clock  interval photometer'],
    ]);
    expect(names(checksTelling('climate', { place: 'instrument', name: 'air' }))).toEqual(['clock  interval air']);
    expect(names(checksTelling('diluter', { place: 'port', name: 'hood' }))).toEqual(['dilution hood']);
    expect(names(checksTelling('sampling-line', { place: 'port', name: 'hood' }))).toEqual([
      ...['dilution hood', 'line-leak hood'],
    ]);
    expect(names(checksTelling('chamber', { place: 'chamber' }))).toEqual(['uniformity']);
  });

  it('count while it worked there, with the figures that are about it', () => {
    const made = (number: number, day: number, ...values: readonly [string, number][]): KeptCheck => ({
      ...{ number, version: 1, madeAtMilliseconds: at(day, 12) },
      result: {
        ...{ check: 'clock', subject: null, condition: 'routine', person: 'tom', validDays: 30, detail: '' },
        at: new Date(at(day, 12)).toISOString(),
        figures: values.map(([name, value]) => figure(name, value, 'percent', { low: -2, high: 2 })),
        passed: values.every(([, value]) => Math.abs(value) <= 2),
      },
    });
    const belt: [string, number] = ['interval belt heart-rate', 5];
    const own: [string, number] = ['interval photometer concentration', 0.1];
    const results = [made(1, 2, own), made(2, 3, own, belt), made(3, 5, belt), made(4, 6, own), made(5, 8, own)];
    const stays = [
      { rig: 'r', at: { place: 'chamber' }, fromMilliseconds: at(3), untilMilliseconds: at(4) },
      { rig: 'r', at: { place: 'chamber' }, fromMilliseconds: at(6), untilMilliseconds: null },
    ] as const;
    const during = resultsDuring(results, stays, 'interval photometer ');
    expect(during.map(({ number, result }) => [number, result.passed, result.figures.length])).toEqual([
      [5, true, 1],
      [4, true, 1],
      [2, true, 1],
    ]);
    expect(resultsDuring(results, stays, '').find(({ number }) => number === 2)?.result.passed).toBe(false);
  });
});

describe('days left', () => {
  it('are whole days of UTC, none on the last day, negative afterwards', () => {
    const left = (time: string): number => daysLeft('2026-12-31', Date.parse(time));
    expect(left('2026-12-01T00:00:00Z')).toBe(30);
    expect(left('2026-12-30T23:59:59Z')).toBe(1);
    expect(left('2026-12-31T23:59:59Z')).toBe(0);
    expect(left('2027-01-01T00:00:00Z')).toBe(-1);
  });
});
