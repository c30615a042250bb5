import type { RunningCheckState } from '../../../src/bridge/checks.ts';
import type { Figure } from '../../../src/calibration/check/vocabulary.ts';
import type { CheckStanding, Standing } from '../../../src/calibration/check/standing.ts';
import type { CheckKind } from '../../../src/calibration/check/vocabulary.ts';

/** What is looked at: a check, and the line it is about. */
export interface Chosen {
  readonly check: CheckKind;
  readonly subject: string | null;
}

/** A row of the list: one kind of check with all of its lines. */
export interface CheckRow {
  readonly check: CheckKind;
  /** The worst of its lines, and the one that a press opens. */
  readonly worst: CheckStanding;
  readonly lines: readonly CheckStanding[];
}

const worstFirst: readonly Standing[] = ['failed', 'overdue', 'due-soon', 'never', 'valid'];

/** One row for each kind, in the order of the checks. */
export function rowsOf(standings: readonly CheckStanding[]): CheckRow[] {
  const rows = new Map<CheckKind, CheckStanding[]>();
  for (const one of standings) rows.set(one.check, [...(rows.get(one.check) ?? []), one]);
  return [...rows].flatMap(([check, lines]) => {
    const [worst] = [...lines].sort((a, b) => worstFirst.indexOf(a.standing) - worstFirst.indexOf(b.standing));
    return worst === undefined ? [] : [{ check, worst, lines }];
  });
}

/** What a technician would do next: what failed, what is overdue, what will be, what was never made. */
export function nextDue(standings: readonly CheckStanding[]): CheckStanding | null {
  for (const standing of worstFirst.slice(0, -1)) {
    const found = standings.find((one) => one.standing === standing);
    if (found !== undefined) return found;
  }
  return null;
}

/** The figure that stands for a result: the first that has limits, else the first. */
export function mainFigure(figures: readonly Figure[]): Figure | null {
  return figures.find(({ low, high }) => low !== null || high !== null) ?? figures[0] ?? null;
}

/** Steps of a check by part, with how far each has come. */
export function partsOf(steps: RunningCheckState['steps'], at: number): PartState[] {
  const parts: { part: string; first: number; last: number }[] = [];
  for (const [index, { part }] of steps.entries()) {
    const last = parts.at(-1);
    if (last?.part === part) last.last = index;
    else parts.push({ part, first: index, last: index });
  }
  return parts.map(({ first, last, part }) => ({
    part,
    state: last < at ? 'done' : first > at ? 'to-do' : 'now',
  }));
}

export interface PartState {
  readonly part: string;
  readonly state: 'done' | 'now' | 'to-do';
}

/** Seconds of the day of `hh:mm` or `hh:mm:ss`; null for anything else. */
export function readTimeOfDay(text: string): number | null {
  const [, hours = '', minutes = '', seconds = '0'] = /^(\d{1,2}):(\d{2})(?::(\d{2}))?$/.exec(text.trim()) ?? [];
  const parts = [hours, minutes, seconds].map(Number);
  const [h = 24, m = 60, s = 60] = hours === '' ? [] : parts;
  return h > 23 || m > 59 || s > 59 ? null : h * 3600 + m * 60 + s;
}
