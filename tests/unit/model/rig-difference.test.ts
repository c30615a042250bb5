import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { rigDifference } from '../../../src/model/rig-difference.ts';
import { rigSchema } from '../../../src/model/rig.ts';
import type { Rig } from '../../../src/model/rig.ts';

const { rig } = demo;
const lines = (before: Rig, after: Rig): string[] =>
  rigDifference(before, after).map(
    ({ after: to, before: from, part, what }) => `${part}: ${what}: ${from ?? '–'} → ${to ?? '–'}`,
  );
const changedPort = (change: object): Rig => ({
  ...rig,
  ports: rig.ports.map((port, index) => (index === 0 ? { ...port, ...change } : port)),
});

describe('the difference of two versions of a rig', () => {
  it('is nothing for equal contents, whatever their numbers, and has every change with its unit', () => {
    expect(rigDifference(rig, { ...structuredClone(rig), version: 9 })).toEqual([]);
    const timeConstantSeconds = { value: 1.25, standardUncertainty: 0.04 };
    const { standardUncertainty, value } = rig.timeConstantSeconds;
    expect(lines(rig, { ...rig, timeConstantSeconds, lineLitresPerMinute: 2.5 })).toEqual([
      `The rig as a whole: Time constant: ${value} s, u = ${standardUncertainty} s → 1.25 s, u = 0.04 s`,
      `The rig as a whole: Flow through a line: ${rig.lineLitresPerMinute} L/min → 2.5 L/min`,
    ]);
    const { lineLitresPerMinute, ...unstated } = rig;
    expect(lines(unstated, rig)).toEqual([
      `The rig as a whole: Flow through a line: – → ${lineLitresPerMinute} L/min`,
    ]);
  });

  it('tells a port that was renamed from one that came and one that went', () => {
    const [first] = rig.ports;
    if (first === undefined) throw new Error('no port');
    expect(lines(rig, changedPort({ probe: 'head' }))).toEqual([
      `Port ${first.label}: Name in results: ${first.probe} → head`,
    ]);
    const without = { ...rig, ports: rig.ports.slice(1) };
    const [gone, ...more] = rigDifference(rig, without);
    expect(more).toEqual([]);
    expect(gone).toMatchObject({ part: `Port ${first.label}`, what: 'All of it', after: null });
    expect(gone?.before).toContain(`number on the valve: ${first.port}; role: ${first.role}`);
    expect(rigDifference(without, rig)).toMatchObject([{ part: `Port ${first.label}`, before: null }]);
  });

  it('says settings by their names, an order, and a text apart from the number that reads like it', () => {
    const [instrument, ...others] = rig.instruments;
    if (instrument === undefined) throw new Error('no instrument');
    const set = (settings: object): Rig => ({
      ...rig,
      instruments: [{ ...instrument, settings: { ...settings } }, ...others],
    });
    const { instrument: name } = instrument;
    expect(lines(set({ deep: { address: 1 }, list: [1] }), set({ deep: { address: '1' }, list: [1, 2] }))).toEqual([
      `Instrument ${name}: Setting deep.address: 1 → "1"`,
      `Instrument ${name}: Setting list: [1] → [1,2]`,
    ]);
    const turned = { ...rig, ports: [...rig.ports].reverse() };
    const order = rig.ports.map(({ probe }) => probe);
    expect(lines(rig, turned)).toEqual([
      `The rig as a whole: Order of ports: ${order.join(', ')} → ${[...order].reverse().join(', ')}`,
    ]);
  });

  it('misses no member: whatever is changed anywhere in a rig is told', () => {
    const full: Rig = rigSchema.parse({
      ...rig,
      lineLitresPerMinute: 2,
      guard: { load: true, valve: false },
      challenge: { ...rig.challenge, exchangeSeconds: 300 },
      ports: rig.ports.map((port) => ({ ...port, lineMetres: 2, boreMillimetres: 4 })),
      watch: [
        {
          ...{ name: 'fan', title: 'Fan flow low', instrument: rig.photometer, stream: 'flow', unit: 'one' },
          ...{ side: 'below', limit: 120, holdSeconds: 5, clearBy: 2, priority: 'high', action: 'Look.', source: 'me' },
        },
      ],
    });
    const changes = everyChange(full).filter(([path]) => path !== 'version');
    expect(changes.length).toBeGreaterThan(80);
    for (const [path, changed] of changes) {
      expect(rigDifference(full, changed as Rig).length, path).toBeGreaterThan(0);
      expect(rigDifference(changed as Rig, full).length, path).toBeGreaterThan(0);
    }
  });
});

/** Copies of a value in each of which one leaf, anywhere in it, is another. */
function everyChange(value: unknown, path = ''): [string, unknown][] {
  if (typeof value === 'object' && value !== null) {
    return Object.entries(value).flatMap(([name, member]) =>
      everyChange(member, path === '' ? name : `${path}.${name}`).map(([deep, changed]): [string, unknown] => {
        const copy = structuredClone(value) as Record<string, unknown>;
        copy[name] = changed;
        return [deep, copy];
      }),
    );
  }
  if (typeof value === 'number') return [[path, value + 1]];
  if (typeof value === 'boolean') return [[path, !value]];
  return [[path, `${String(value)}x`]];
}
