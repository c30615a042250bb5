import type { Row } from './row.ts';
import { tableOf } from './row.ts';

/** A ratio may grow by a third before it counts as worse: what the same program shows on a busy machine. */
export const mostGrowth = 4 / 3;

export interface Comparison {
  readonly stage: string;
  readonly before: number;
  /** Null: it was not measured this time. */
  readonly now: number | null;
  readonly worse: boolean;
}

/**
 * Holds a run against a stored one, stage by stage. A stage that is stored and not measured counts as worse; one that
 * is not stored yet is in no row.
 */
export function compareRuns(stored: readonly Row[], current: readonly Row[]): Comparison[] {
  return stored.map(({ stage, ratio: before }) => {
    const now = current.find((row) => row.stage === stage)?.ratio ?? null;
    return { stage, before, now, worse: now === null || now > before * mostGrowth };
  });
}

export function comparisonTable(comparisons: readonly Comparison[]): string {
  const lines = comparisons.map(({ stage, before, now, worse }) => [
    ...[stage, String(before), now === null ? 'none' : String(now)],
    ...[now === null ? '' : `× ${(now / before).toFixed(2)}`, worse ? 'WORSE' : 'good'],
  ]);
  return tableOf(['stage', 'stored', 'now', 'change', ''], lines);
}
