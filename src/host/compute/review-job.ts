import { reviewSchema } from '../../leakage/review.ts';
import type { Review } from '../../leakage/review.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Rig } from '../../model/rig.ts';
import { openLaboratory } from '../store/laboratory.ts';

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
