import type { Method } from '../model/method.ts';
import { solePort } from '../model/rig.ts';
import type { Rig } from '../model/rig.ts';
import { significant } from '../model/number-text.ts';
import { units } from '../model/unit.ts';
import type { Unit } from '../model/unit.ts';
import { leakageFactors } from './inward-leakage.ts';
import { challengeChangePercent } from './provisional.ts';
import type { ProvisionalState } from './provisional.ts';

/** How far zero and challenge moved from the first to the last dwell of a trial. Readings in the photometer's unit. */
export interface DriftVerdict {
  readonly verdict: 'good' | 'doubt' | 'open';
  /** First and last chamber air, as measured. */
  readonly references: readonly [first: number, last: number] | null;
  /** Filtered air beside the first reference, and the last. */
  readonly zeros: readonly [first: number, last: number] | null;
  /** Net of zero, percent of the first; null where it cannot be told. */
  readonly challengePercent: number | null;
  /** Percent of the challenge: the first reference net of zero, undiluted. Null where it cannot be told. */
  readonly zeroPercent: number | null;
  /** What the method allows, percent. */
  readonly limits: { readonly challenge: number; readonly zero: number };
}

/**
 * First against last reference and zero of what has been measured. The challenge may move by the method's
 * `spanChangePercent`; the zero by its `zeroChangePercent`, which is one for successive zeros and is used for the whole
 * trial here, the stricter way. What a diluted or lossy reference reads is converted as for the leakage
 * (`leakageFactors`), so that both limits are of the same challenge. Both limits are common practice, no source.
 */
export function judgeDrift(state: ProvisionalState, method: Method, rig: Rig): DriftVerdict {
  const limits = { challenge: method.spanChangePercent, zero: method.zeroChangePercent };
  const { firstReference, firstReferenceZero, reference, zero } = state;
  const hasTwo = firstReference !== null && reference !== null && firstReference.dwell !== reference.dwell;
  const references = hasTwo ? ([firstReference.reading, reference.reading] as const) : null;
  const hasZeros = firstReferenceZero !== null && zero !== null && firstReferenceZero.dwell !== zero.dwell;
  const zeros = hasZeros ? ([firstReferenceZero.reading, zero.reading] as const) : null;
  const challengePercent = challengeChangePercent(state);
  const net = firstReference === null ? 0 : firstReference.reading - (firstReferenceZero?.reading ?? 0);
  const port = solePort(rig, 'reference');
  const { referenceDilution, referencePenetration } = leakageFactors(rig, method, port, port);
  const whole = (net * referenceDilution) / referencePenetration;
  const zeroPercent = zeros === null || whole <= 0 ? null : (100 * (zeros[1] - zeros[0])) / whole;
  const isKnown = challengePercent !== null && zeroPercent !== null;
  const keeps =
    Math.abs(challengePercent ?? 0) <= limits.challenge && Math.abs(zeroPercent ?? 0) <= limits.zero;
  return {
    verdict: !keeps ? 'doubt' : isKnown ? 'good' : 'open',
    ...{ references, zeros, challengePercent, zeroPercent, limits },
  };
}

/** The verdict with its numbers and limits. @param unit of the photometer's stream. */
export function driftInWords(drift: DriftVerdict, unit: string): string {
  const symbol = Object.hasOwn(units, unit) ? units[unit as Unit].symbol : unit;
  const pair = ([first, last]: readonly [number, number]): string =>
    `${significant(first, 3)} → ${significant(last, 3)} ${symbol}`.trim();
  const signed = (percent: number): string =>
    `${percent < 0 ? '−' : '+'}${significant(Math.abs(percent), 2)} %`;
  const { challengePercent, limits, references, zeroPercent, zeros } = drift;
  const challenge =
    references === null || challengePercent === null
      ? 'Challenge: fewer than two references'
      : `Challenge ${pair(references)}, ${signed(challengePercent)} (limit ${limits.challenge} %)`;
  const zero =
    zeros === null || zeroPercent === null
      ? 'zero: fewer than two to compare'
      : `zero ${pair(zeros)}, ${signed(zeroPercent)} of the challenge (limit ${limits.zero} %)`;
  const verdict = { good: 'pass', doubt: 'doubt', open: 'cannot be told' }[drift.verdict];
  return `${challenge}; ${zero}: ${verdict}`;
}
