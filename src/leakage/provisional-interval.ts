import { toSeconds } from '../model/time.ts';
import { gatherContributions } from './budget/contribution.ts';
import type { Contribution } from './budget/contribution.ts';
import { uncertaintyOf } from './budget/uncertainty.ts';
import type { LineFreedom, Uncertainty } from './budget/uncertainty.ts';
import { netReference } from './challenge.ts';
import type { ReadingContext } from './dwell-reading.ts';
import type { AssessedPart } from './part.ts';
import type { TrialInputs } from './trial-inputs.ts';

/**
 * The doubt of a window while the zero and the reference after it are still to come: the assessment's own budget, and
 * in addition what zero and challenge may have moved since the newest of each. They are taken to have moved as fast
 * as from one to the next so far, root mean square, in either direction: an assessment interpolates instead, so its
 * interval is the narrower one as a rule. Drift as a rate is common practice, no source.
 * @returns null where an assessment would state none either: no value, or fewer than three zeros or references.
 */
export function provisionalUncertainty(
  context: ReadingContext,
  inputs: TrialInputs,
  freedom: LineFreedom,
  { budget, held, shown }: AssessedPart,
): Uncertainty | null {
  const { windowPercent } = shown;
  if (windowPercent === null || budget === null || budget.gaps.length > 0) return null;
  const { scale, span, spanNet, zero } = held ?? {};
  if (zero == null || span == null || scale == null || spanNet == null) return null;
  const since: Since[] = [];
  if (zero.after === null && zero.beforeAtMicroseconds !== null) {
    const points = inputs.zeros.map(({ atMicroseconds, value }) => ({ atMicroseconds, value }));
    const { degreesOfFreedom, perSecond } = rateOf(points);
    since.push({
      input: 'zero since the newest',
      line: 'zero-drift',
      degreesOfFreedom,
      standardUncertainty: perSecond * toSeconds(zero.atMicroseconds - zero.beforeAtMicroseconds),
      // IL = (R − Z − B)/(S − Z) · scale: the zero is in both.
      sensitivity: -scale + windowPercent / spanNet,
    });
  }
  if (span.after === null && span.beforeAtMicroseconds !== null) {
    const points = inputs.references.flatMap(({ atMicroseconds, dwell }) => {
      const net = netReference(dwell, inputs.zeros, context.method);
      return net !== null && net > 0 ? [{ atMicroseconds, value: Math.log(net) }] : [];
    });
    const { degreesOfFreedom, perSecond } = rateOf(points);
    since.push({
      input: 'challenge since the newest reference',
      line: 'challenge',
      degreesOfFreedom,
      standardUncertainty: perSecond * toSeconds(span.atMicroseconds - span.beforeAtMicroseconds),
      sensitivity: -windowPercent,
    });
  }
  const own = [...budget.contributions.values()];
  const all = gatherContributions([...own, ...since]);
  return uncertaintyOf(windowPercent, all, since.reduce((known, one) => freedomWith(known, own, one), freedom));
}

/** What an input may have done since it was measured last. */
interface Since extends Contribution {
  readonly degreesOfFreedom: number;
}

/** Freedom of the line that has one more contribution, by Welch and Satterthwaite. */
function freedomWith(freedom: LineFreedom, own: readonly Contribution[], since: Since): LineFreedom {
  const { line } = since;
  let before = 0;
  for (const one of own) if (one.line === line) before += (one.sensitivity * one.standardUncertainty) ** 2;
  const added = (since.sensitivity * since.standardUncertainty) ** 2;
  const fourths = before ** 2 / freedom[line] + added ** 2 / since.degreesOfFreedom;
  return fourths > 0 ? { ...freedom, [line]: (before + added) ** 2 / fourths } : freedom;
}

/** Root mean square of the change from one value to the next, per second; 0 where there are fewer than two. */
function rateOf(points: readonly { readonly atMicroseconds: number; readonly value: number }[]): {
  readonly perSecond: number;
  readonly degreesOfFreedom: number;
} {
  let squares = 0;
  let count = 0;
  for (let index = 1; index < points.length; index += 1) {
    const [before, after] = [points[index - 1], points[index]];
    const seconds = toSeconds((after?.atMicroseconds ?? 0) - (before?.atMicroseconds ?? 0));
    if (!(seconds > 0)) continue;
    squares += (((after?.value ?? 0) - (before?.value ?? 0)) / seconds) ** 2;
    count += 1;
  }
  return { perSecond: count === 0 ? 0 : Math.sqrt(squares / count), degreesOfFreedom: count };
}
