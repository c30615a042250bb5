import { verifyCommand, whatIsAltered } from '../store/soundness.ts';
import type { Output } from './command.ts';

/**
 * Says it when a trial is not what was recorded: what is computed from it then is the result of nothing.
 * @returns whether it is what was recorded.
 */
export function noteAltered(study: string, trial: string, output: Output): boolean {
  const altered = whatIsAltered(study, trial);
  if (altered === null) return true;
  output.note(`THE TRIAL IS NOT WHAT WAS RECORDED. ${altered} ${verifyCommand(study)}`);
  return false;
}
