import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { seriesTemplates } from '../../../src/series/templates.ts';

/** The program's series, and one that the laboratory keeps. */
export const madeUpSeries = [
  { series: demo.series, mark: 'own' as const },
  ...seriesTemplates,
  { series: { ...demo.series, name: 'Coverall day, short rests', version: 3, source: 'Our own.' }, mark: null },
];

/** What a trial of the day before has shown. */
export const madeUpScatter = {
  ...{ trial: 't-000000000031', createdAt: '2026-11-24T09:00:00.000Z', rigVersion: 14, intervalSeconds: 0.05 },
  blank: { standardDeviation: 0.0009, autocorrelationSum: 1.6, degreesOfFreedom: 2400, readings: 2600, blanks: 13 },
  slice: {
    ...{ logStandard: 0.26, degreesOfFreedom: 30, from: 'successive exercises' as const, pairs: 45 },
    windowSeconds: 12.4,
  },
};
