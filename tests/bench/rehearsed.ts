import { rehearse, type RehearsalResult } from '../../src/host/rehearsal/rehearse.ts';
import type { Size } from './stage.ts';

/** A trial of the virtual rig, recorded and assessed: the demonstration, or where little is wanted a short one. */
export function rehearsed(size: Size, studyPath: string): Promise<RehearsalResult> {
  return rehearse({
    studyPath,
    wire: 'none',
    scenario: size === 'tiny' ? 'short' : 'demo',
    seed: 7,
    speed: Infinity,
    resume: false,
    subject: 'S01',
    ensemble: 'A',
    operator: 'bench',
    heartRateLimit: 180,
  });
}
