import type { Rig } from '../../model/rig.ts';
import type { SupportingCheck } from '../../model/supporting-check.ts';
import { checkDefinitions } from './definitions.ts';
import { checkName } from './names.ts';
import { checkKinds } from './vocabulary.ts';
import type { CheckKind, CheckResult } from './vocabulary.ts';

/** A result as the laboratory keeps it. */
export interface KeptCheck {
  /** Number of the row: the newest is the greatest. */
  readonly number: number;
  /** Version of the rig on which it was made. */
  readonly version: number;
  /** `result.at`, ms since 1970. */
  readonly madeAtMilliseconds: number;
  readonly result: CheckResult;
}

export type Standing = 'never' | 'valid' | 'due-soon' | 'overdue' | 'failed';

/** A check of a rig, and how it stands. */
export interface CheckStanding {
  readonly check: CheckKind;
  readonly subject: string | null;
  readonly standing: Standing;
  /** The newest; null when it has never been made. */
  readonly newest: KeptCheck | null;
  /** When a pass ends to hold, ms since 1970; null without a pass. */
  readonly dueAt: number | null;
}

const dayMilliseconds = 86_400_000;
/** A check is due soon in the last week of its validity, but never for more than a fifth of it. */
const soonDays = 7;
const soonShare = 0.2;

/**
 * Everything that can be checked of a rig, in the order of the vocabulary, with how it stands. The newest counts: a
 * pass that was followed by a failure is no pass.
 * @param kept results of this rig, of any version, in any order.
 */
export function standingsOf(rig: Rig, kept: readonly KeptCheck[], nowMilliseconds: number): CheckStanding[] {
  return checkKinds.flatMap((check) =>
    checkDefinitions[check].subjects(rig).map((subject): CheckStanding => {
      const newest = newestOf(kept, check, subject);
      return { check, subject, newest, ...standingOf(newest, nowMilliseconds) };
    }),
  );
}

/** What a trial on this rig rests on from now: the newest of every check that was ever made. */
export function supportingChecks(rig: Rig, kept: readonly KeptCheck[], nowMilliseconds: number): SupportingCheck[] {
  return standingsOf(rig, kept, nowMilliseconds).flatMap(({ check, newest, standing, subject }) => {
    if (newest === null || standing === 'never') return [];
    const name = checkName(check, subject, rig);
    return [{ check, subject, name, number: newest.number, madeAt: newest.result.at, standing }];
  });
}

/** The newest result of a check, or null when it has never been made. */
export function newestOf(kept: readonly KeptCheck[], check: CheckKind, subject: string | null): KeptCheck | null {
  let newest: KeptCheck | null = null;
  for (const one of kept) {
    if (one.result.check !== check || one.result.subject !== subject) continue;
    if (newest === null || one.number > newest.number) newest = one;
  }
  return newest;
}

/** How a check stands by its newest result, and when a pass ends to hold, ms since 1970. */
export function standingOf(
  newest: KeptCheck | null,
  nowMilliseconds: number,
): { readonly standing: Standing; readonly dueAt: number | null } {
  if (newest === null) return { standing: 'never', dueAt: null };
  const { passed, validDays } = newest.result;
  if (!passed) return { standing: 'failed', dueAt: null };
  const dueAt = newest.madeAtMilliseconds + validDays * dayMilliseconds;
  if (nowMilliseconds > dueAt) return { standing: 'overdue', dueAt };
  const soon = Math.min(soonDays, soonShare * validDays) * dayMilliseconds;
  return { standing: nowMilliseconds > dueAt - soon ? 'due-soon' : 'valid', dueAt };
}
