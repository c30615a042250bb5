import type { Answers, CheckStep } from '../../calibration/check/step.ts';
import type { RigHand } from '../rig/running-rig.ts';

/** What hands do at a virtual rig when a person says that it is done; null where there is nothing to do. */
export function handOf({ ask, place, probe }: Extract<CheckStep, { step: 'ask' }>, answers: Answers): RigHand | null {
  if (probe === null) return null;
  switch (ask) {
    case 'source-level':
      return { hand: 'source', probe, concentration: answers['concentration'] ?? 0 };
    case 'probe-in-chamber':
      return { hand: 'inlet', probe, air: 'chamber' };
    case 'filter-on-probe':
      return { hand: 'inlet', probe, air: 'filtered' };
    case 'head-at-place':
      return place === null ? null : { hand: 'place', probe, place };
    case 'source-away':
    case 'probe-back':
    case 'filter-off-probe':
    case 'head-back':
      return { hand: 'inlet', probe, air: 'own' };
    case 'pulse':
    case 'clock':
      return null;
  }
}
