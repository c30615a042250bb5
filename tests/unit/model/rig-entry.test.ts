import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { rigEntrySchema } from '../../../src/model/rig-entry.ts';
import { rigSchema } from '../../../src/model/rig.ts';
import { seriesEntrySchema } from '../../../src/model/series-entry.ts';
import { seriesSchema } from '../../../src/model/series.ts';

const { rig, series } = demo;
type Rig = typeof rig;

/** The rig with another first port. */
const withPort = (change: Partial<Rig['ports'][number]>): Rig => ({
  ...rig,
  ports: rig.ports.map((port, index) => (index === 0 ? { ...port, ...change } : port)),
});
const stated = (value: number, standardUncertainty = 0): { value: number; standardUncertainty: number } => ({
  value,
  standardUncertainty,
});

function pathsOf(schema: typeof rigEntrySchema | typeof seriesEntrySchema, data: unknown): string[] {
  const result = schema.safeParse(data);
  if (result.success) return [];
  return result.error.issues.flatMap((issue) =>
    issue.code === 'unrecognized_keys'
      ? issue.keys.map((key) => [...issue.path, key].join('.'))
      : issue.path.map(String).join('.'),
  );
}

describe('a rig that is given', () => {
  it('is taken as it is when nothing is wrong with it', () => {
    expect(rigEntrySchema.parse(rig)).toEqual(rig);
  });

  const wrong: [string, unknown][] = [
    ['photometer', { ...rig, photometer: 'belt', photometerStream: 'heart-rate' }],
    ['selectorValve', { ...rig, selectorValve: 'photometer' }],
    ['heartRate', { ...rig, heartRate: 'selector' }],
    ['ports.0.penetration.value', withPort({ penetration: stated(1.01) })],
    ['ports.0.penetration.standardUncertainty', withPort({ penetration: stated(1, 1.5) })],
    ['ports.0.dilution.value', withPort({ dilution: stated(0.99) })],
    ['ports.0.transitSeconds.value', withPort({ transitSeconds: stated(1e9) })],
    ['ports.0.transitSeconds.value', withPort({ transitSeconds: stated(-1) })],
    ['ports.0.colour', withPort({ colour: 'red' } as object)],
    ['ports.0.lineMetres', withPort({ lineMetres: 2600 })],
    ['ports.0.boreMillimetres', withPort({ boreMillimetres: 0.004 })],
    ['lineLitresPerMinute', { ...rig, lineLitresPerMinute: 1e9 }],
    ['timeConstantSeconds.value', { ...rig, timeConstantSeconds: stated(1e9) }],
    ['timeConstantSeconds.value', { ...rig, timeConstantSeconds: stated(-0.1) }],
    ['timeConstantSeconds.doubt', { ...rig, timeConstantSeconds: { ...stated(1), doubt: 1 } }],
    ['commonDispersionSeconds', { ...rig, commonDispersionSeconds: 1e9 }],
    ['valveSwitchingSeconds', { ...rig, valveSwitchingSeconds: 1e9 }],
    ['spatialFactor.value', { ...rig, spatialFactor: stated(1000) }],
    ['saturation', { ...rig, saturation: 1e300 }],
    ['challenge.nominal', { ...rig, challenge: { ...rig.challenge, nominal: 1e300 } }],
    ['challenge.exchangeSecond', { ...rig, challenge: { ...rig.challenge, exchangeSecond: 9 } }],
    ['bypas', { ...rig, bypas: false }],
    ['instruments.0.setings', { ...rig, instruments: rig.instruments.map((one) => ({ ...one, setings: {} })) }],
  ];
  it.each(wrong)('is refused for its %s', (path, data) => {
    expect(pathsOf(rigEntrySchema, data)).toContain(path);
  });

  it.each(wrong)('is still read where it is frozen into a trial, for its %s', (_path, data) => {
    expect(rigSchema.safeParse(data).success).toBe(true);
  });
});

describe('a series that is given', () => {
  it('is taken as it is when nothing is wrong with it', () => {
    expect(seriesEntrySchema.parse(series)).toEqual(series);
  });

  const exercises = (change: object): unknown => ({
    ...series,
    exercises: series.exercises.map((one, index) => (index === 0 ? { ...one, ...change } : one)),
  });
  it.each<[string, unknown]>([
    ['exercises.0.cadence', exercises({ cadence: 3 })],
    ['exercises.0.cadencePerMinute', exercises({ cadencePerMinute: 1e9 })],
    ['exercises.0.workRateWatts', exercises({ workRateWatts: 1e9 })],
    ['entry.leastChallengePercent', { ...series, entry: { ...series.entry, leastChallengePercent: 101 } }],
    ['entry.steadyRangePercent', { ...series, entry: { ...series.entry, steadyRangePercent: 1e9 } }],
    ['order.ofset', { ...series, order: { ...series.order, ofset: 1 } }],
    ['closing.seconds', { ...series, closing: { ...series.closing, seconds: 1 } }],
    ['notes', { ...series, notes: '' }],
  ])('is refused for its %s, and still read where it is frozen', (path, data) => {
    expect(pathsOf(seriesEntrySchema, data)).toEqual([path]);
    expect(seriesSchema.safeParse(data).success).toBe(true);
  });
});
