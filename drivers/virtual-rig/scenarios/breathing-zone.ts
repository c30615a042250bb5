import type { Scenario } from '../scenario.ts';
import { sharp } from './sharp.ts';

/** The acceptance rig with the hood's probe where the subject breathes, and the flow of breath read beside it. */
export const breathingZone: Scenario = {
  ...sharp,
  name: 'breathing-zone',
  title: 'A probe in the breathing zone',
  rig: {
    ...sharp.rig,
    name: 'Virtual chamber with a probe in the breathing zone',
    instruments: [
      ...sharp.rig.instruments,
      { instrument: 'breath', kind: 'breathing', dialect: 'flow-lines', settings: {} },
    ],
    ports: sharp.rig.ports.map((port) => (port.probe === 'hood' ? { ...port, breathingZone: true } : port)),
  },
};
