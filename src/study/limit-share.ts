import { passingShare, type PassingShare } from './passing-share.ts';
import type { RosterRow } from './study-trial.ts';

/** How many subjects keep a limit on whole-trial leakage in one ensemble. */
export interface LimitShare {
  readonly ensemble: string;
  readonly limitPercent: number;
  /** Null where no subject can be told. */
  readonly share: PassingShare | null;
  /** Subjects of whom it cannot be told: cells missing, or below a detection limit that lies above the limit. */
  readonly open: number;
  /** Subjects who exceed it in a trial. */
  readonly exceeding: readonly string[];
}

/**
 * A subject keeps the limit when every trial of theirs in the ensemble does; a value that is exactly the limit does. A
 * trial that lacks cells never keeps it, and exceeds it only where it would with zero in their place.
 * @param rows of this ensemble, those held against limits.
 */
export function limitShares(
  ensemble: string,
  limitPercent: number,
  rows: readonly RosterRow[],
  confidence: number,
): LimitShare {
  const bySubject = new Map<string, boolean | null>();
  for (const row of rows) {
    const { subject } = row;
    const keeps = keepsLimit(row, limitPercent);
    bySubject.set(subject, bySubject.has(subject) ? both(bySubject.get(subject) ?? null, keeps) : keeps);
  }
  const told = [...bySubject].filter(([, keeps]) => keeps !== null);
  const passed = told.filter(([, keeps]) => keeps === true).length;
  return {
    ensemble,
    limitPercent,
    share: told.length === 0 ? null : passingShare(passed, told.length, confidence, bySubject.size - told.length),
    open: bySubject.size - told.length,
    exceeding: told.filter(([, keeps]) => keeps === false).map(([subject]) => subject),
  };
}

function keepsLimit({ whole, cells, cellsMissing }: RosterRow, limitPercent: number): boolean | null {
  if (whole === null) return null;
  if (cellsMissing > 0) {
    const least = whole.below ? 0 : (whole.percent * (cells - cellsMissing)) / cells;
    return least > limitPercent ? false : null;
  }
  return whole.below && whole.percent > limitPercent ? null : whole.percent <= limitPercent;
}

/** Both kept; one exceeded is enough to exceed. */
export function both(one: boolean | null, other: boolean | null): boolean | null {
  if (one === false || other === false) return false;
  return one === null || other === null ? null : true;
}
