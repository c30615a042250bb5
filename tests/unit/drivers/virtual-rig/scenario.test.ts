import { describe, expect, it } from 'vitest';
import { createVirtualRig } from '../../../../drivers/virtual-rig/index.ts';
import { parseScenario, scenarioSchema } from '../../../../drivers/virtual-rig/scenario.ts';
import { scenarioNamed, scenarioNames, scenarios } from '../../../../drivers/virtual-rig/scenarios/index.ts';
import { isChambersideError } from '../../../../src/model/error-code.ts';
import type { Series } from '../../../../src/model/series.ts';
import { units } from '../../../../src/model/unit.ts';
import { mean, probes, quantile, walk } from './support.ts';

const { demo, sharp, short } = scenarios;

function seriesSeconds(series: Series): number {
  const blocks = series.exercises.map((exercise) => exercise.restSeconds + exercise.durationSeconds);
  return blocks.reduce((sum, one) => sum + one, 0) + series.closing.referenceSeconds + series.closing.zeroSeconds;
}

const dwellSeconds = (series: Series): number[] =>
  series.exercises.map((exercise) => (exercise.durationSeconds - exercise.leadInSeconds) / probes.length);

describe('shipped scenarios', () => {
  it.each(scenarioNames)('%s satisfies its schema and survives JSON', (name) => {
    const scenario = scenarioNamed(name);
    expect(scenario?.name).toBe(name);
    expect(scenarioSchema.parse(JSON.parse(JSON.stringify(scenario)))).toEqual(scenario);
    expect(scenario?.rig.virtual).toBe(true);
  });

  it('are not found under other names', () => {
    expect(scenarioNamed('toString')).toBeUndefined();
    expect(scenarioNamed('')).toBeUndefined();
  });

  it('demo takes 1450 s in ten blocks with five dwells of 18 s', () => {
    expect(demo.series.exercises).toHaveLength(10);
    expect(seriesSeconds(demo.series)).toBe(1450);
    expect(new Set(dwellSeconds(demo.series))).toEqual(new Set([18]));
  });

  it('short takes about 90 s in two exercises with dwells of at least 7 s', () => {
    expect(short.series.exercises).toHaveLength(2);
    const exercises = short.series.exercises.reduce((sum, one) => sum + one.restSeconds + one.durationSeconds, 0);
    expect(exercises).toBe(92);
    for (const dwell of dwellSeconds(short.series)) expect(dwell).toBeGreaterThanOrEqual(7);
    expect(short.rig.timeConstantSeconds.value).toBe(0.3);
  });

  it('sharp differs from the demo in everything that is corrected', () => {
    const ports = sharp.rig.ports.slice(0, probes.length);
    expect(ports.map((port) => port.dilution.value)).toEqual([1, 1, 2, 5, 20]);
    expect(Math.min(...ports.map((port) => port.penetration.value))).toBe(0.96);
    expect(Math.max(...ports.map((port) => port.penetration.value))).toBe(0.985);
    expect(sharp.rig.spatialFactor.value).toBe(0.96);
    expect(sharp.rig.bypass).toBe(true);
    expect(sharp.series.order.kind).toBe('rotated');
    expect(sharp.ensemble.zones.every((zone) => zone.backgroundPercent === 0.01)).toBe(true);
  });
});

describe('a scenario that is wrong', () => {
  it('is refused with every field named', () => {
    const wrong = {
      ...demo,
      chamber: { ...demo.chamber, exchangeSeconds: 0 },
      movements: demo.movements.slice(1),
      ensemble: {
        ...demo.ensemble,
        zones: demo.ensemble.zones.slice(1),
      },
      faults: [{ atSeconds: 3, fault: { fault: 'unplug', instrument: 'toaster', seconds: 1, newName: false } }],
    };
    expect(() => parseScenario(wrong, 'mine.json')).toThrow(/chamber\.exchangeSeconds/);
    const crossed = { ...wrong, chamber: demo.chamber };
    try {
      parseScenario(crossed, 'mine.json');
      expect.unreachable();
    } catch (error) {
      if (!isChambersideError(error, 'configuration-invalid')) throw error;
      expect(error.where).toBe('mine.json');
      expect(error.message).toMatch(/one zone for each probe of the rig.*hood/);
      expect(error.message).toMatch(/exactly one movement for the exercise march/);
      expect(error.message).toMatch(/faults\.0\.fault\.instrument: names no instrument of the rig: toaster/);
    }
  });

  it.each([null, 5, 'demo', [], {}])('is refused when it is %j', (data) => {
    expect(() => parseScenario(data, 'here')).toThrow(/scenario/);
  });
});

/** Whatever settings and factors are called, names are no fields of the schema. */
const free = /(^|\.)(settings|leakFactors)(\.|$)/;

/** Paths of everything below that a test picks, `rig.ports.0.dilution`. */
function pathsWhere(value: unknown, picks: (value: unknown) => boolean, path: readonly string[] = []): string[][] {
  const own = picks(value) ? [[...path]] : [];
  if (typeof value !== 'object' || value === null) return own;
  return [...own, ...Object.entries(value).flatMap(([key, inner]) => pathsWhere(inner, picks, [...path, key]))];
}

/** A copy with another value at a path. */
function replaced(data: unknown, path: readonly string[], change: (value: unknown) => unknown): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return change(data);
  const copy = structuredClone(data) as Record<string, unknown>;
  copy[key] = replaced(copy[key], rest, change);
  return copy;
}

describe('every field of a scenario', () => {
  const whole: unknown = {
    ...demo,
    sampling: { ...demo.sampling, tail: { share: 0.1, seconds: 5 } },
    faults: [
      { atSeconds: 1, fault: { fault: 'wire', instrument: 'photometer', wire: { fault: 'garbage', seconds: 1 } } },
      { atSeconds: 1, fault: { fault: 'unplug', instrument: 'photometer', seconds: 1, newName: false } },
      { atSeconds: 1, fault: { fault: 'zero-jump', percentOfChallenge: 1 } },
      { atSeconds: 1, fault: { fault: 'span-jump', percent: 1 } },
    ],
  };
  const isObject = (value: unknown): boolean =>
    typeof value === 'object' && value !== null && !Array.isArray(value);
  const objects = pathsWhere(whole, isObject).filter((path) => !free.test(path.join('.')));
  // A version is a label, and no number of anything.
  const numbers = pathsWhere(whole, (value) => typeof value === 'number').filter(
    (path) => !free.test(path.join('.').replace(/leakFactors/, '')) && path.at(-1) !== 'version',
  );

  it('is looked at below', () => {
    expect(() => parseScenario(whole, 'here')).not.toThrow();
    expect(objects.length).toBeGreaterThan(100);
    expect(numbers.length).toBeGreaterThan(300);
  });

  it('is known: a slip in a name is said at its place', () => {
    for (const path of objects) {
      const slipped = replaced(whole, path, (value) => ({ ...(value as object), slip: 1 }));
      const place = [...path, 'slip'].join('.');
      expect(() => parseScenario(slipped, 'here'), place).toThrow(`${place}: there is no such field`);
    }
  });

  it('has ends where it is a number', () => {
    for (const path of numbers) {
      for (const nonsense of [1e12, -1e12]) {
        const place = path.join('.');
        expect(() => parseScenario(replaced(whole, path, () => nonsense), 'here'), place).toThrow(`${place}: `);
      }
    }
  });
});

describe('the photometer of a scenario', () => {
  const delivering = (unit: string): unknown => ({
    ...demo,
    rig: {
      ...demo.rig,
      instruments: demo.rig.instruments.map((one) =>
        one.kind === 'photometer' ? { ...one, settings: { ...one.settings, unit } } : one,
      ),
    },
  });
  const start = (data: unknown): void => {
    const clock = { now: () => 0, after: () => () => undefined, at: () => () => undefined };
    createVirtualRig({ scenario: parseScenario(data, 'here'), seed: 1, clock, truth: null }).stop();
  };

  it.each(Object.entries(units))('delivers what tells a concentration, or is refused: %s', (unit, { quantity }) => {
    if (['mass concentration', 'number concentration'].includes(quantity)) start(delivering(unit));
    else {
      expect(() => start(delivering(unit))).toThrow(
        `photometer delivers concentration in ${unit}, a unit of ${quantity}, which tells no concentration ` +
          '(scenario demo, rig.instruments.0.settings.unit). Give one of: mg/m3, ug/m3, g/m3, per-cm3.' +
          (quantity === 'voltage'
            ? ' An analogue output is scaled to one of them by the dialect multimeter-scpi.'
            : ''),
      );
    }
  });

  it('is the concentration of a multimeter at an output, and not its voltage', () => {
    const metered = (photometerStream: string): unknown => ({
      ...demo,
      rig: {
        ...demo.rig,
        photometerStream,
        instruments: demo.rig.instruments.map((one) =>
          one.kind === 'photometer' ? { ...one, dialect: 'multimeter-scpi', settings: {} } : one,
        ),
      },
    });
    start(metered('concentration'));
    expect(() => start(metered('voltage'))).toThrow(
      'photometer delivers voltage in V, a unit of voltage, which tells no concentration ' +
        '(scenario demo, rig.photometerStream). Name the stream concentration.',
    );
  });

  it('has the stream that the rig names', () => {
    const nowhere = { ...demo, rig: { ...demo.rig, photometerStream: 'mass' } };
    expect(() => start(nowhere)).toThrow('no stream mass (scenario demo, rig.photometerStream). Name one of its');
  });
});

describe('true leakage of the demo over 20 seeds', () => {
  const cells = Array.from({ length: 20 }, (_, seed) => walk(demo, seed + 1).cells).flat();
  const of = (probe: string): number[] =>
    cells.filter((cell) => cell.probe === probe).map((cell) => cell.windowPercent);

  // Twenty ensembles whose fit scatters by 40 % place a median to about 12 %.
  it.each([
    ['hood', 0.03],
    ['chest', 0.16],
    ['lower-back', 0.36],
    ['thigh', 0.83],
    ['ankle', 1.6],
  ])('has its median at the %s at %d percent', (probe, expected) => {
    const median = quantile(of(probe), 0.5);
    expect(median / expected).toBeGreaterThan(0.75);
    expect(median / expected).toBeLessThan(1.33);
  });

  it('lies between 0.014 and 4.2 percent in at least 90 percent of the cells', () => {
    const inside = cells.filter((cell) => cell.windowPercent > 0.014 && cell.windowPercent < 4.2);
    expect(inside.length / cells.length).toBeGreaterThan(0.9);
    expect(inside.length).toBeLessThan(cells.length);
  });

  it('scatters around the exercise leakage without much bias by dwell position', () => {
    for (let position = 1; position <= probes.length; position += 1) {
      const ratios = cells
        .filter((cell) => cell.dwellPosition === position)
        .map((cell) => Math.log(cell.windowPercent / cell.exercisePercent));
      expect(Math.abs(mean(ratios))).toBeLessThan(0.12);
      const deviation = Math.sqrt(mean(ratios.map((ratio) => ratio * ratio)));
      expect(deviation).toBeGreaterThan(0.05);
      expect(deviation).toBeLessThan(0.35);
    }
  });
});
