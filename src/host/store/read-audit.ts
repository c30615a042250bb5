import type { AuditedTrial } from '../../study/audit.ts';
import { readAssessments } from './assessments.ts';
import { listTrials, readTrialPlan, readTrialSegments } from './read.ts';
import { readSignatures } from './signatures.ts';
import { readVoidings } from './voidings.ts';

/**
 * What an audit trail is made of, without readings.
 * @param only this trial.
 * @throws ChambersideError as `listTrials`.
 */
export function readAudited(path: string, only?: string): AuditedTrial[] {
  return listTrials(path)
    .filter(({ trial }) => only === undefined || trial === only)
    .map(({ createdAt, header, sealed, trial }) => {
      const { ensemble, operator, subject, virtual } = header;
      return {
        ...{ trial, createdAt, operator, subject, ensemble, virtual },
        segments: readTrialSegments(path, trial),
        events: readTrialPlan(path, trial).events,
        sealedAt: sealed?.at ?? null,
        assessments: readAssessments(path, trial),
        voidings: readVoidings(path, trial),
        signatures: readSignatures(path, trial).map(({ signature }) => signature),
      };
    });
}
