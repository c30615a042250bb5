import { type EnsembleValues, judge, type Verdict } from './judge.ts';
import { both } from './limit-share.ts';
import { passingShare, type PassingShare } from './passing-share.ts';
import type { Requirement, Rule } from './requirement.ts';
import { isHeldAgainstLimits, type RosterRow, type StudyTrial } from './study-trial.ts';
import { trialHolds } from './trial-holds.ts';

/** A requirement held against the trials of one ensemble, with how sure it is. */
export interface RequirementStanding {
  readonly ensemble: string;
  readonly verdict: Verdict;
  /** For each rule: subjects of whom every trial alone keeps its limits. Null where it can be told of none. `open`: how
   *  many it cannot be told of; the bounds of the share hold either way. */
  readonly shares: readonly { readonly rule: Rule; readonly share: PassingShare | null; readonly open: number }[];
}

/**
 * @param roster of the same trials: what is left out there is left out here.
 */
export function requirementStandings(
  requirement: Requirement,
  trials: readonly StudyTrial[],
  roster: readonly RosterRow[],
  confidence: number,
): RequirementStanding[] {
  const counted = trials.filter((_, index) => {
    const row = roster[index];
    return row !== undefined && isHeldAgainstLimits(row);
  });
  const ensembles = [...new Set(counted.map(({ ensemble }) => ensemble))];
  return ensembles.map((ensemble) => {
    const own = counted.filter((trial) => trial.ensemble === ensemble);
    return {
      ensemble,
      verdict: judge(requirement, own.map(valuesOf)),
      shares: requirement.rules.map((rule) => {
        const bySubject = new Map<string, boolean | null>();
        for (const trial of own) {
          const holds = trialHolds(rule, trial.cells ?? []);
          const before = bySubject.get(trial.subject);
          bySubject.set(trial.subject, before === undefined ? holds : both(before, holds));
        }
        const told = [...bySubject.values()].filter((holds) => holds !== null);
        const passed = told.filter((holds) => holds).length;
        const open = bySubject.size - told.length;
        const share = told.length === 0 ? null : passingShare(passed, told.length, confidence, open);
        return { rule, share, open };
      }),
    };
  });
}

function valuesOf({ trial, virtual, review, released, doubtfulChecks, cells }: StudyTrial): EnsembleValues {
  const releasedBy = released?.person ?? null;
  return { name: trial, virtual, review, releasedBy, doubtfulChecks, values: cells ?? [] };
}
