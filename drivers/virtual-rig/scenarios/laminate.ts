import type { Scenario } from '../scenario.ts';
import { demo } from './demo.ts';

/** How many times as much of the challenge comes in as in the one-piece, by zone: only the taped cuffs hold better. */
const leaks: Readonly<Record<string, number>> = { hood: 10, chest: 4.5, 'lower-back': 4, thigh: 1.8, ankle: 0.5 };

/** The other ensemble of the grain terminal, in the same chamber and series. */
export const laminate: Scenario = {
  ...demo,
  name: 'laminate',
  title: 'Grain terminal coveralls: two-piece laminate with taped cuffs, ten blocks',
  ensemble: {
    ...demo.ensemble,
    paths: demo.ensemble.paths.map((path) => ({
      ...path,
      millilitresPerMinute: path.millilitresPerMinute * (leaks[path.zone] ?? 1),
    })),
  },
};
