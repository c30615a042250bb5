import type { RigVersion } from '../../../src/bridge/contract.ts';
import { rigDifference } from '../../../src/model/rig-difference.ts';
import type { RigChange } from '../../../src/model/rig-difference.ts';
import type { Rig } from '../../../src/model/rig.ts';
import { ownRig } from './made-up.ts';

/** Versions of the own rig, newest first. */
export function madeUpVersions(): RigVersion[] {
  const days = ['2026-11-20', '2026-09-02', '2026-03-11'];
  return days.map((day, index) => ({ version: ownRig.version - index, createdAt: `${day}T08:12:00.000Z` }));
}

/** The newest has a longer line to the ankle, a slower photometer and a watched limit; the two before are alike. */
export function madeUpRigDifference(from: number, to: number): RigChange[] {
  return rigDifference(rigOf(from), rigOf(to));
}

function rigOf(version: number): Rig {
  if (version === ownRig.version) return ownRig;
  return {
    ...ownRig,
    timeConstantSeconds: { value: 0.8, standardUncertainty: 0.03 },
    ports: ownRig.ports.map((port) =>
      port.probe === 'ankle'
        ? { ...port, transitSeconds: { value: 1.9, standardUncertainty: 0.05 }, lineMetres: 3.2 }
        : port,
    ),
    watch: [
      {
        ...{ name: 'belt-low', title: 'Heart rate low', instrument: 'belt', stream: 'heart-rate' },
        ...{ unit: 'per-minute', side: 'below', limit: 45, holdSeconds: 5, clearBy: 2, priority: 'medium' },
        ...{ action: 'Ask the subject how they feel.', source: 'the responsible person' },
      },
    ],
  };
}
