import type { Scenario } from '../scenario.ts';
import { short } from './short.ts';

/** The short scenario on a cycle ergometer, whose load a guard watches, and the valve with it. */
export const cycle: Scenario = {
  ...short,
  name: 'cycle',
  title: 'Two exercises on a cycle ergometer, with a guard',
  rig: {
    ...short.rig,
    name: 'Virtual chamber with cycle ergometer',
    instruments: [
      ...short.rig.instruments,
      { instrument: 'ergometer', kind: 'ergometer', dialect: 'lines', settings: {} },
    ],
    guard: { load: true, valve: true },
  },
};
