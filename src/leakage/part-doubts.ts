import type { AnchoredValue } from './anchors.ts';
import { weighted } from './anchors.ts';
import type { Background } from './background.ts';
import type { BreathedWindow } from './breathing-zone.ts';
import { limitsOfFullShare } from './carry-over.ts';
import type { ReferenceChange } from './challenge.ts';
import { distinctDoubts, doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { isFlat } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import type { LeakageFactors } from './inward-leakage.ts';
import { doubtOfPartialFlow } from './partial-flow.ts';
import type { TrialInputs } from './trial-inputs.ts';
import { stepAtWindow } from './zero-step.ts';

/** Standard uncertainty of a net reading that holds no leakage, in the unit of the reading, and what it is made of. */
export interface NoiseAtZero {
  readonly window: number;
  /** Of the zeros around the window. */
  readonly zeros: number;
  /** Of the background's own window and of the zeros around that; 0 without background. */
  readonly background: number;
  readonly backgroundZeros: number;
  /** Zeros, background and its zeros together: what all parts of a cell share. */
  readonly shared: number;
}

/** How the subject breathed, while a window was read and while its background was. */
export interface BreathingOfWindow {
  readonly window: BreathedWindow;
  /** Null where the method subtracts none. */
  readonly background: BreathedWindow | null;
}

/** A window and everything it is held against; null where an input is missing. */
export interface HeldWindow {
  readonly dwell: ReadDwell;
  readonly zero: AnchoredValue | null;
  readonly span: AnchoredValue | null;
  readonly background: Background | null;
  readonly factors: LeakageFactors;
  /** For a probe in the breathing zone; null for any other, and where the breaths are not known. */
  readonly breathing: BreathingOfWindow | null;
  readonly breathingDoubts: readonly Doubt[];
  /**
   * Share of its own in the background that is subtracted: 1, in the breathing zone by how much of either window the
   * subject breathed in.
   */
  readonly backgroundShare: number;
  /** (R − Z) − share · B, as a reading; null without a zero. A background that is missing counts nothing here. */
  readonly net: number | null;
  /** S − Z, as a reading; null without a zero or a reference. */
  readonly spanNet: number | null;
  /** Percent for one unit of net reading. */
  readonly scale: number | null;
  readonly noise: NoiseAtZero | null;
  readonly challenge: ReferenceChange | null;
}

/** Every doubt about the leakage of one window: its own, those of its inputs, and those of their combination. */
export function doubtsOfPart(context: ReadingContext, inputs: TrialInputs, held: HeldWindow): Doubt[] {
  const { method } = context;
  const { dwell, zero, span, background, scale, challenge, net, spanNet } = held;
  const { dwell: number } = dwell.recorded.dwell;
  const doubts: Doubt[] = [...dwell.doubts, ...inputs.doubts];
  for (const input of [zero, span, background?.zero, background?.dwell]) doubts.push(...(input?.doubts ?? []));
  if (zero === null) doubts.push(doubt('no-zero', null, 'no dwell of filtered air has a window'));
  if (span === null) doubts.push(doubt('no-reference', null, 'no dwell of the chamber has a window'));
  else if (zero !== null && !(spanNet !== null && spanNet > 0)) {
    const measured = spanNet === null ? null : figure(spanNet, 0, 'reading');
    doubts.push(doubt('no-reference', null, 'reference minus zero is not above zero', measured));
  }
  if (method.subtractBackground && background === null)
    doubts.push(doubt('no-background', null, 'no background dwell of the probe has a window'));
  doubts.push(...held.breathingDoubts);

  const sources = [dwell, background?.dwell, zero?.before, zero?.after, span?.before, span?.after];
  const { resolution } = context.readings;
  for (const source of new Set(sources)) {
    if (source == null || !isFlat(source, inputs.blank, resolution)) continue;
    const scatter = figure(source.scatter, null, 'reading');
    doubts.push(doubt('flat-signal', source.recorded.dwell.dwell, 'scatter of the readings', scatter));
  }
  const partial =
    zero === null || inputs.blank === null ? null : doubtOfPartialFlow(context, inputs.blank, dwell, zero);
  if (partial !== null) doubts.push(partial);
  if (challenge?.exceeded === true) {
    const measured = figure(challenge.changePercent, challenge.limitPercent, 'percent');
    doubts.push(doubt('challenge-unstable', null, 'references before and after, net of zero', measured));
  }
  if (zero !== null && span !== null && net !== null && spanNet !== null && scale !== null) {
    const { referenceDilution, referencePenetration } = held.factors;
    const whole = (spanNet * referenceDilution) / referencePenetration;
    doubts.push(
      ...zeroMoved(zero, whole, method.zeroChangePercent),
      ...zeroStepped(context, inputs, { ...held, zero }, net),
      ...carryOverDoubts(context, { ...held, zero, span }, net, spanNet),
      ...belowZero(context, held, net, number),
    );
  }
  return distinctDoubts(doubts);
}

/** Do the zeros around a window differ by more than a share of the challenge, as an undiluted reading of it? */
function zeroMoved(zero: AnchoredValue, challenge: number, limitPercent: number): Doubt[] {
  if (zero.before === null || zero.after === null) return [];
  const moved = Math.abs(zero.after.mean.corrected - zero.before.mean.corrected);
  if (!(100 * moved > limitPercent * challenge)) return [];
  const measured = figure((100 * moved) / challenge, limitPercent, 'percent');
  return [doubt('drift-exceeded', null, 'zeros before and after, of the challenge', measured)];
}

/**
 * A step of the zero is held against what it can spoil: the value, but where that is small the detection limit. Nobody
 * saw on which side of the window, or of its background, it happened, so the worse of both counts.
 * @param net (R − Z) − B.
 */
function zeroStepped(
  { method }: ReadingContext,
  { zeroSteps }: TrialInputs,
  { background, noise, zero }: HeldWindow & { readonly zero: AnchoredValue },
  net: number,
): Doubt[] {
  const worth = stepAtWindow(zeroSteps, zero) + (background === null ? 0 : stepAtWindow(zeroSteps, background.zero));
  if (worth === 0) return [];
  const limit = noise === null ? 0 : method.detectionFactor * Math.hypot(noise.window, noise.shared);
  const allowed = Math.max((method.carryOverPercent / 100) * Math.abs(net), limit);
  if (worth <= allowed) return [];
  return [doubt('drift-exceeded', null, 'a step between the zeros, at its worst', figure(worth, allowed, 'reading'))];
}

/**
 * Air cannot leak out of a probe's reading: less than the background by more than noise explains is what filtered
 * air looks like, so the line may be blocked, and would else pass for a tight ensemble.
 * @param net (R − Z) − B.
 */
function belowZero({ method }: ReadingContext, { noise }: HeldWindow, net: number, dwell: number): Doubt[] {
  if (noise === null) return [];
  const limit = -method.detectionFactor * Math.hypot(noise.window, noise.shared);
  return net < limit
    ? [doubt('below-zero', dwell, 'window minus zero and background', figure(net, limit, 'reading'))]
    : [];
}

/**
 * Carry-over is held against what it can spoil: the value, but where that is small the detection limit, because there
 * a share of the value would be a share of noise. A perfectly tight ensemble is thus as settled as any.
 * @param net (R − Z) − B. @param spanNet S − Z.
 */
function carryOverDoubts(
  { method }: ReadingContext,
  held: HeldWindow & { readonly zero: AnchoredValue; readonly span: AnchoredValue },
  net: number,
  spanNet: number,
): Doubt[] {
  const { dwell, zero, span, background, noise } = held;
  const limit = noise === null ? 0 : method.detectionFactor * Math.hypot(noise.window, noise.shared);
  const allowedShare = method.carryOverPercent / 100;
  const allowed = allowedShare * Math.max(Math.abs(net), limitsOfFullShare * limit);
  const left = (source: ReadDwell): number => Math.abs(source.carryOver);
  const doubts: Doubt[] = [];

  const ofWindow = left(dwell) + (background === null ? 0 : left(background.dwell));
  if (ofWindow > allowed) {
    const measured = figure(ofWindow, allowed, 'reading');
    doubts.push(doubt('unsettled', dwell.recorded.dwell.dwell, 'carry-over of window and background', measured));
  }
  const zeros = weighted(zero, left);
  const ofZero = zeros.before + zeros.after;
  if (ofZero > allowed) {
    doubts.push(doubt('zero-not-settled', null, 'carry-over of the zeros', figure(ofZero, allowed, 'reading')));
  }
  const spans = weighted(span, left);
  const ofSpan = spans.before + spans.after;
  const allowedOfSpan = allowedShare * spanNet;
  if (ofSpan > allowedOfSpan) {
    doubts.push(doubt('unsettled', null, 'carry-over of the references', figure(ofSpan, allowedOfSpan, 'reading')));
  }
  return doubts;
}
