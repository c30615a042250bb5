import { toSeconds } from '../../model/time.ts';
import type { TimeLoss } from '../clock/wake-watch.ts';

/** What happened to the program, for the record and the operator. */
export function describeLoss(loss: TimeLoss): string {
  const seconds = toSeconds(loss.lostMicroseconds).toFixed(1);
  if (loss.cause === 'standstill') return `The program stood still for ${seconds} s.`;
  if (loss.evidence === 'boot-clock') return `The machine slept for ${seconds} s.`;
  return `The machine slept for ${seconds} s, or its clock was set ahead.`;
}
