import { machineFaults } from './on-the-machine.ts';
import { processFaults } from './on-processes.ts';
import { virtualDiskFaults, wireFaults } from './on-the-wire.ts';
import type { Fault } from './row.ts';

/** Every fault that is tried, in the order of the matrix. */
export const faults = (): Fault[] => [
  ...processFaults(),
  ...machineFaults(),
  ...wireFaults(),
  ...virtualDiskFaults(),
];
