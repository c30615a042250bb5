import { machineFaults } from './on-the-machine.ts';
import { processFaults } from './on-processes.ts';
import { phases, virtualDiskFaults, wireFaults, type Phase } from './on-the-wire.ts';
import type { Fault } from './row.ts';

/**
 * Every fault that is tried, in the order of the matrix.
 * @param inPhases of a trial, in which the wire of each instrument is tried.
 */
export const faults = (inPhases: readonly Phase[] = phases): Fault[] => [
  ...processFaults(),
  ...machineFaults(),
  ...wireFaults(inPhases),
  ...virtualDiskFaults(),
];
