import type { LeftOut } from '../../src/leakage/left-out.ts';
import { leftOutSchema } from '../../src/leakage/left-out.ts';
import { toMicroseconds, toSeconds } from '../../src/model/time.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { readNumber } from '../ui/read-number.ts';

/** What a reviewer is about to ask for. Texts are as typed, in seconds of trial time. */
export interface ReviewDraft {
  readonly leftOut: readonly LeftOut[];
  readonly from: string;
  readonly to: string;
  readonly time: LeftOut['time'];
  /** Null: every port. */
  readonly probe: string | null;
  readonly reason: string;
}

/** To begin with: what is left out already stays so until it is taken back. */
export function beginReview(leftOut: readonly LeftOut[]): ReviewDraft {
  const kept = leftOut.map(({ fromMicroseconds, probe, reason, time, toMicroseconds: to }) => ({
    fromMicroseconds,
    toMicroseconds: to,
    time,
    probe,
    reason,
  }));
  return { leftOut: kept, from: '', to: '', time: 'arrival', probe: null, reason: '' };
}

/** A stretch that was dragged over, to a tenth of a second: the eye is no better. */
export function withDragged(draft: ReviewDraft, fromMicroseconds: number, to: number): ReviewDraft {
  const text = (microseconds: number): string => Math.max(0, toSeconds(microseconds)).toFixed(1);
  return { ...draft, from: text(fromMicroseconds), to: text(to) };
}

/** What is wrong with a stretch that is typed, by field. */
interface StretchProblems {
  readonly from?: FieldProblem;
  readonly to?: FieldProblem;
  readonly reason?: FieldProblem;
}

/** The stretch that is typed, or what is wrong with it. */
export function typedStretch(draft: ReviewDraft): { readonly stretch: LeftOut } | StretchProblems {
  const [from, to] = [readNumber(draft.from), readNumber(draft.to)];
  const missing = (text: string): FieldProblem => ({ kind: text.trim() === '' ? 'empty' : 'not-a-number' });
  const reason = draft.reason.trim();
  const problems = {
    ...(from === null ? { from: missing(draft.from) } : from < 0 ? { from: least(0, true) } : {}),
    ...(to === null ? { to: missing(draft.to) } : from !== null && to <= from ? { to: least(from, false) } : {}),
    ...(reason === '' ? { reason: { kind: 'empty' } as const } : {}),
  };
  if (from === null || to === null || Object.keys(problems).length > 0) return problems;
  const parsed = leftOutSchema.safeParse({
    fromMicroseconds: toMicroseconds(from),
    toMicroseconds: toMicroseconds(to),
    time: draft.time,
    probe: draft.probe,
    reason,
  });
  if (parsed.success) return { stretch: parsed.data };
  return reason.length > 400 ? { reason: { kind: 'too-long', limit: 400 } } : { to: least(from, false) };
}

function least(limit: number, inclusive: boolean): FieldProblem {
  return { kind: 'least', limit, inclusive };
}

/** The stretch that is typed so far, for the trace; null where it is none. */
export function pendingStretch({ from, probe, time, to }: ReviewDraft): LeftOut | null {
  const [begins, ends] = [readNumber(from), readNumber(to)];
  if (begins === null || ends === null || begins < 0 || ends <= begins) return null;
  return { fromMicroseconds: toMicroseconds(begins), toMicroseconds: toMicroseconds(ends), time, probe, reason: '–' };
}
