import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { seriesTemplates } from '../../../src/series/templates.ts';

/** The program's series, and one that the laboratory keeps. */
export const madeUpSeries = [
  { series: demo.series, mark: 'own' as const },
  ...seriesTemplates,
  { series: { ...demo.series, name: 'Coverall day, short rests', version: 3, source: 'Our own.' }, mark: null },
];
