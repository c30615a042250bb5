import { assess } from '../../leakage/assess.ts';
import type { Assessment } from '../../leakage/assessment.ts';
import { shippedMethods } from '../../leakage/methods.ts';
import { parseMethod } from '../../leakage/own-method.ts';
import { reviewSchema } from '../../leakage/review.ts';
import type { Review } from '../../leakage/review.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Method } from '../../model/method.ts';
import type { Rig } from '../../model/rig.ts';
import type { NewAssessment } from '../store/contract.ts';
import { openLaboratory } from '../store/laboratory.ts';
import { readPlannedMethod, readTrial, readTrialSummary } from '../store/read.ts';
import { verifyCommand, whatIsAltered } from '../store/soundness.ts';

/** What a reviewer wants a trial to be assessed by. */
export interface ReviewRequest {
  /** Study file. */
  readonly path: string;
  readonly trial: string;
  /** Name of a method that ships, or one of somebody's own; null: the one frozen with the trial. */
  readonly method: string | Method | null;
  readonly review: Review;
  /** Version of the program. */
  readonly program: string;
}

/** An assessment that is ready to be stored. */
export interface ReviewedAssessment extends NewAssessment {
  readonly details: Assessment;
  readonly review: Review;
}

/**
 * Somebody who may have a trial assessed anew: registered, active, a reviewer, and knowing the PIN.
 * @throws ChambersideError `person-not-found`, `pin-wrong`, `role-missing`, and those of opening the laboratory.
 */
export async function requireReviewer(laboratoryPath: string, code: string, pin: string): Promise<void> {
  const laboratory = openLaboratory(laboratoryPath);
  try {
    const { roles } = await laboratory.verifyPin(code, pin);
    if (roles.includes('reviewer')) return;
    throw new ChambersideError(
      'role-missing',
      `${code} is ${roles.join(', ')}, and no reviewer`,
      code,
      'Have it done by a reviewer: `chamberside people` lists who is one.',
    );
  } finally {
    laboratory.close();
  }
}

/**
 * Assesses a sealed trial as a reviewer wants it. Stores nothing.
 * @throws ChambersideError `trial-not-found`, `trial-not-finished`, `file-damaged` for one that is not what was
 *   recorded, `usage-bad-value` for stretches that are none, and as `assess`.
 */
export function assessReviewed({ method, path, program, review, trial }: ReviewRequest): ReviewedAssessment {
  const { sealed, throughMicroseconds } = readTrialSummary(path, trial);
  const altered = whatIsAltered(path, trial);
  if (altered !== null) {
    const what = `This trial is not what was recorded. ${altered}`;
    throw new ChambersideError('file-damaged', what, path, verifyCommand(path));
  }
  if (sealed === null) {
    throw new ChambersideError('trial-not-finished', `Trial ${trial} is not sealed`, path, 'Close it first.');
  }
  const record = readTrial(path, trial);
  const checked = checkedReview(review, record.rig, throughMicroseconds);
  const chosen = chosenMethod(method) ?? readPlannedMethod(path, trial);
  const details = assess(record, chosen, checked.leftOut);
  return { trial: record.header.trial, method: chosen, program, cells: details.cells, details, review: checked };
}

/**
 * A method that ships, by its name, or one of somebody's own, held to what such a one may be.
 * @throws ChambersideError `usage-bad-value`, `configuration-invalid`.
 */
function chosenMethod(name: string | Method | null): Method | null {
  if (name === null) return null;
  if (typeof name !== 'string') return parseMethod(name, `method ${name.name}`);
  const found = shippedMethods.find((method) => method.name === name);
  if (found !== undefined) return found;
  const names = shippedMethods.map((method) => method.name).join('; ');
  throw new ChambersideError('usage-bad-value', `no method has the name ${name}`, 'method', `Give one of: ${names}.`);
}

/** @throws ChambersideError `usage-bad-value` for stretches that are none of this trial. */
export function checkedReview(review: Review, rig: Rig, endMicroseconds: number): Review {
  const parsed = reviewSchema.safeParse(review);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    throw badStretch(issue?.message ?? 'it has not the form of a review', issue?.path.map(String).join('.') ?? '');
  }
  for (const { fromMicroseconds, probe, toMicroseconds } of parsed.data.leftOut) {
    const words = `${fromMicroseconds / 1e6} to ${toMicroseconds / 1e6} s`;
    if (fromMicroseconds >= endMicroseconds) {
      throw badStretch(`the stretch ${words} begins after the end of the record, ${endMicroseconds / 1e6} s`, words);
    }
    if (probe !== null && !rig.ports.some((port) => port.probe === probe)) {
      const probes = rig.ports.map((port) => port.probe).join(', ');
      throw new ChambersideError('usage-bad-value', `the rig has no probe ${probe}`, words, `Give one of: ${probes}.`);
    }
  }
  return parsed.data;
}

function badStretch(what: string, where: string): ChambersideError {
  return new ChambersideError('usage-bad-value', what, where, 'Give stretches of the trial, each with its reason.');
}
