import { ChambersideError } from '../../model/error-code.ts';
import type { SignatureStep } from '../../model/signature.ts';
import { openLaboratory } from '../store/laboratory.ts';
import { verifyCommand, whatIsAltered } from '../store/soundness.ts';

/** Who wants to sign what. */
export interface SignerRequest {
  /** Study file. */
  readonly path: string;
  readonly trial: string;
  readonly step: SignatureStep;
  /** Laboratory file. */
  readonly laboratory: string;
  /** Code. */
  readonly person: string;
  readonly pin: string;
}

/**
 * Somebody who may sign this step: registered, active, knowing the PIN; for every step but `assessed` a reviewer. And a
 * trial that is what was recorded: its whole chain is walked, except to take a signature back.
 * Who assessed is not asked here: the store refuses them, whichever way they come.
 * @throws ChambersideError `person-not-found`, `pin-wrong`, `role-missing`, `file-damaged`, and those of opening.
 */
export async function requireSigner(asked: SignerRequest): Promise<void> {
  const { laboratory: file, path, person, pin, step, trial } = asked;
  const laboratory = openLaboratory(file);
  try {
    const { roles } = await laboratory.verifyPin(person, pin);
    if (step !== 'assessed' && !roles.includes('reviewer')) {
      const what = `${person} is ${roles.join(', ')}, and no reviewer`;
      const remedy = 'Have it signed by a reviewer: `chamberside people` lists who is one.';
      throw new ChambersideError('role-missing', what, person, remedy);
    }
  } finally {
    laboratory.close();
  }
  const altered = step === 'withdrawn' ? null : whatIsAltered(path, trial);
  if (altered === null) return;
  const what = `This trial is not what was recorded, and cannot be signed. ${altered}`;
  throw new ChambersideError('file-damaged', what, path, verifyCommand(path));
}
