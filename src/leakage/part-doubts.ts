import { weighted } from './anchors.ts';
import type { AnchoredValue } from './anchors.ts';
import type { Background } from './background.ts';
import { challengeUnstable } from './challenge.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { isFlat } from './dwell-reading.ts';
import type { Flag } from './flag.ts';
import type { LeakageFactors } from './inward-leakage.ts';
import type { TrialInputs } from './trial-inputs.ts';

/**
 * From this many detection limits on, carry-over is held against the value; below, against that many limits. With
 * the usual 1 % a tenth of the detection limit is then allowed, 0.3 of its standard uncertainty: together they
 * scatter 4 % more than noise alone, and a value is measured to 1 % from there on only.
 */
const limitsOfFullShare = 10;

/** A window and everything it is held against; null where an input is missing. */
export interface HeldWindow {
  readonly dwell: ReadDwell;
  readonly zero: AnchoredValue | null;
  readonly span: AnchoredValue | null;
  readonly background: Background | null;
  readonly factors: LeakageFactors;
  /** Percent for one unit of net reading. */
  readonly scale: number | null;
  readonly noise: { readonly window: number; readonly shared: number } | null;
}

/** Every doubt about the leakage of one window: its own, those of its inputs, and those of their combination. */
export function doubtsOfPart(context: ReadingContext, inputs: TrialInputs, held: HeldWindow): Set<Flag> {
  const { method } = context;
  const { dwell, zero, span, background, scale } = held;
  const flags = new Set<Flag>([...dwell.flags, ...inputs.flags]);
  for (const input of [zero, span, background?.zero, background?.dwell]) {
    for (const flag of input?.flags ?? []) flags.add(flag);
  }
  if (zero === null) flags.add('no-zero');
  if (span === null || (zero !== null && scale === null)) flags.add('no-reference');
  if (method.subtractBackground && background === null) flags.add('no-background');

  const sources = [dwell, background?.dwell, zero?.before, zero?.after, span?.before, span?.after];
  const { resolution } = context.readings;
  if (sources.some((source) => source != null && isFlat(source, inputs.blank, resolution))) flags.add('flat-signal');
  if (span !== null && challengeUnstable(span.before, span.after, inputs.zeros, method))
    flags.add('challenge-unstable');
  if (zero !== null && span !== null && scale !== null) {
    const { referenceDilution, referencePenetration } = held.factors;
    const challenge = ((span.shown.value - zero.shown.value) * referenceDilution) / referencePenetration;
    if (zeroMoved(zero, challenge, method.zeroChangePercent)) flags.add('drift-exceeded');
    judgeCarryOver(context, { ...held, zero, span }, flags);
    if (belowZero(context, { ...held, zero, span })) flags.add('below-zero');
  }
  return flags;
}

/** Do the zeros around a window differ by more than a share of the challenge, as an undiluted reading of it? */
function zeroMoved(zero: AnchoredValue, challenge: number, limitPercent: number): boolean {
  if (zero.before === null || zero.after === null) return false;
  const moved = Math.abs(zero.after.mean.corrected - zero.before.mean.corrected);
  return 100 * moved > limitPercent * challenge;
}

/**
 * Air cannot leak out of a probe's reading: less than the background by more than noise explains is what filtered
 * air looks like, so the line may be blocked, and would else pass for a tight ensemble.
 */
function belowZero(context: ReadingContext, held: HeldWindow & { readonly zero: AnchoredValue }): boolean {
  const { dwell, zero, background, noise } = held;
  if (noise === null) return false;
  const net = dwell.mean.corrected - zero.shown.value - (background?.netReading ?? 0);
  return net < -context.method.detectionFactor * Math.hypot(noise.window, noise.shared);
}

/**
 * Carry-over is held against what it can spoil: the value, but where that is small the detection limit, because there
 * a share of the value would be a share of noise. A perfectly tight ensemble is thus as settled as any.
 */
function judgeCarryOver(
  context: ReadingContext,
  held: HeldWindow & { readonly zero: AnchoredValue; readonly span: AnchoredValue },
  flags: Set<Flag>,
): void {
  const { method } = context;
  const { dwell, zero, span, background, noise } = held;
  const net = Math.abs(dwell.mean.corrected - zero.shown.value - (background?.netReading ?? 0));
  const limit = noise === null ? 0 : method.detectionFactor * Math.hypot(noise.window, noise.shared);
  const allowedShare = method.carryOverPercent / 100;
  const allowed = allowedShare * Math.max(net, limitsOfFullShare * limit);
  const left = (source: ReadDwell): number => Math.abs(source.carryOver);

  if (left(dwell) + (background === null ? 0 : left(background.dwell)) > allowed) flags.add('unsettled');
  const ofZero = weighted(zero, left);
  if (ofZero.before + ofZero.after > allowed) flags.add('zero-not-settled');
  const ofSpan = weighted(span, left);
  if (ofSpan.before + ofSpan.after > allowedShare * (span.shown.value - zero.shown.value)) flags.add('unsettled');
}
