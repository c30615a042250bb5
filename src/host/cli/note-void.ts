import { voidingWords } from '../../model/voiding.ts';
import type { TrialSummary } from '../store/contract.ts';
import type { Output } from './command.ts';

/** Says it when a trial is void: what is printed of it then is no result. */
export function noteVoid({ voided }: Pick<TrialSummary, 'voided'>, output: Output): void {
  if (voided === null) return;
  output.note(`THE TRIAL IS VOID, ${voidingWords(voided)}. It is in no figure of its study and in no verdict.`);
}
