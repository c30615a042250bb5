import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { solePort } from '../model/rig.ts';
import { probeTime } from './alignment.ts';
import { dwellAgainstAir, noiseOfWindow, noiseOfZeros } from './against-air.ts';
import { anchoredValue, lengthOfWindow, middle } from './anchors.ts';
import type { AnchoredValue } from './anchors.ts';
import type { CellPart } from './assessment.ts';
import { partBudget } from './budget/part-contributions.ts';
import type { PartBudget } from './budget/part-contributions.ts';
import type { Background } from './background.ts';
import type { BreathedWindow } from './breathing-zone.ts';
import { challengeChange } from './challenge.ts';
import { flagsOf, hasFlag } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { dwellMean, wasRead } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext, UnreadDwell } from './dwell-reading.ts';
import type { ReadingAgainstAir } from './flow.ts';
import { inwardLeakagePercent, leakageFactors, netReading, percentPerReading } from './inward-leakage.ts';
import { limitFactor } from './limit-factor.ts';
import { doubtsOfPart } from './part-doubts.ts';
import type { HeldWindow, NoiseAtZero } from './part-doubts.ts';
import type { TrialInputs } from './trial-inputs.ts';

/** A part with what a cell needs to combine several. */
export interface AssessedPart {
  readonly shown: CellPart;
  /** What the shown numbers come from; null where the dwell has no window. */
  readonly held: HeldWindow | null;
  /** What raised the flags of `shown`. */
  readonly doubts: readonly Doubt[];
  /** Length of the window, µs: its weight among the parts of a cell. */
  readonly lengthMicroseconds: number;
  /** Standard uncertainty at zero leakage, percent: of the window alone, and of the zero and background it shares. */
  readonly windowNoisePercent: number;
  readonly sharedNoisePercent: number;
  /** Null where the dwell has no number. */
  readonly budget: PartBudget | null;
  /** Null where it has no zero or no noise is known, or where the signal is frozen. */
  readonly againstAir: ReadingAgainstAir | null;
}

/** Turns one probe dwell into leakage. Whatever is missing leaves null and a flag. */
export function assessPart(context: ReadingContext, inputs: TrialInputs, dwell: ReadDwell | UnreadDwell): AssessedPart {
  const { method, rig } = context;
  const { dwell: planned } = dwell.recorded;
  const reference = solePort(rig, 'reference');
  const port = rig.ports.find((candidate) => candidate.port === planned.port) ?? reference;
  const factors = leakageFactors(rig, method, port, reference, context.linearity);
  const empty = {
    dwell: planned.dwell,
    dwellPosition: planned.dwellPosition,
    reading: null,
    zero: null,
    span: null,
    background: null,
    ...factors,
    windowPercent: null,
    detectionLimitPercent: null,
    flags: flagsOf(dwell.doubts),
  };
  if (!wasRead(dwell)) {
    const nothing = {
      held: null,
      budget: null,
      lengthMicroseconds: 0,
      windowNoisePercent: 0,
      sharedNoisePercent: 0,
    };
    return { ...nothing, shown: empty, doubts: dwell.doubts, againstAir: null };
  }

  const arrival = middle(dwell);
  const zero = anchoredValue(inputs.zeros, arrival, dwell.segment, method.interpolation);
  const span = anchoredValue(
    inputs.references,
    probeTime(arrival, rig, dwell.port),
    dwell.segment,
    method.interpolation,
  );
  const background = method.subtractBackground ? (inputs.backgrounds.get(dwell.port.port) ?? null) : null;
  const { breathing, breathingDoubts } = breathingOf(dwell, background);
  const backgroundShare =
    breathing === null || breathing.background === null ? 1 : breathing.background.factor / breathing.window.factor;
  const backgroundNet = backgroundShare * (background?.netReading ?? 0);
  const net = zero === null ? null : netReading(dwell.mean.corrected, zero.shown.value, backgroundNet);
  const spanNet = zero === null || span === null ? null : span.shown.value - zero.shown.value;
  const known = spanNet !== null && breathingDoubts.every(({ flag }) => flag !== 'no-breathing');
  const scale = known ? percentPerReading(spanNet, factors, breathing?.window.factor) : null;
  const noise =
    inputs.blank === null || zero === null
      ? null
      : noiseAtZero(context, inputs.blank, dwell, zero, background, backgroundShare);

  const challenge =
    span === null ? null : challengeChange(span.before, span.after, inputs.zeros, method);
  const held: HeldWindow = {
    ...{ dwell, zero, span, background, factors, breathing, breathingDoubts, backgroundShare },
    ...{ net, spanNet, scale, noise, challenge },
  };
  const doubts = doubtsOfPart(context, inputs, held);
  const usable =
    zero !== null &&
    scale !== null &&
    (background !== null || !method.subtractBackground) &&
    // A fault is not a result: a frozen signal leaves no number that could be taken for one.
    !hasFlag(doubts, 'flat-signal');
  const windowNoisePercent = (noise?.window ?? 0) * (scale ?? 0);
  const sharedNoisePercent = (noise?.shared ?? 0) * (scale ?? 0);
  return {
    shown: {
      ...empty,
      ...(breathing === null ? {} : { breathing: timesOf(breathing.window) }),
      reading: dwellMean(dwell, context, inputs.blank),
      zero: zero?.shown ?? null,
      span: span?.shown ?? null,
      background:
        background === null
          ? null
          : {
              dwell: background.dwell.recorded.dwell.dwell,
              netReading: background.netReading,
              zero: background.zero.shown,
              ...(backgroundShare === 1 ? {} : { share: backgroundShare }),
            },
      windowPercent: usable ? inwardLeakagePercent(dwell.mean.corrected, zero.shown.value, backgroundNet, scale) : null,
      detectionLimitPercent:
        noise === null || scale === null
          ? null
          : limitFactor(method, inputs.blank) * Math.hypot(windowNoisePercent, sharedNoisePercent),
      flags: flagsOf(doubts),
    },
    held,
    budget: usable ? partBudget(context, inputs.blank, inputs.scatter, held) : null,
    doubts,
    lengthMicroseconds: lengthOfWindow(dwell),
    windowNoisePercent,
    sharedNoisePercent,
    againstAir:
      zero === null || inputs.blank === null || hasFlag(doubts, 'flat-signal')
        ? null
        : dwellAgainstAir(context, inputs.blank, dwell, zero),
  };
}

/** How the subject breathed while a probe in the breathing zone was read; nothing for any other. */
function breathingOf(
  { breathed: window }: ReadDwell,
  background: Background | null,
): Pick<HeldWindow, 'breathing' | 'breathingDoubts'> {
  if (window === null) return { breathing: null, breathingDoubts: [] };
  if ('flag' in window) return { breathing: null, breathingDoubts: [window] };
  const ofBackground = background?.dwell.breathed ?? null;
  if (ofBackground !== null && 'flag' in ofBackground) return { breathing: null, breathingDoubts: [ofBackground] };
  const breathingDoubts = [...window.doubts, ...(ofBackground?.doubts ?? [])];
  return { breathing: { window, background: ofBackground }, breathingDoubts };
}

function timesOf({ expiredSeconds, factor, inspiredSeconds }: BreathedWindow): NonNullable<CellPart['breathing']> {
  return { inspiredSeconds, expiredSeconds, factor };
}

/**
 * Standard uncertainty of a net reading that holds no leakage, in the unit of the reading: blank scatter through
 * the weights of the window, of the zeros around it, of the background and of the zeros around that.
 */
function noiseAtZero(
  context: ReadingContext,
  blank: BlankScatter,
  dwell: ReadDwell,
  zero: AnchoredValue,
  background: Background | null,
  backgroundShare: number,
): NoiseAtZero {
  const window = noiseOfWindow(context, blank, dwell);
  const zeros = noiseOfZeros(context, blank, zero);
  if (background === null) return { window, zeros, background: 0, backgroundZeros: 0, shared: zeros };
  const ofBackground = backgroundShare * noiseOfWindow(context, blank, background.dwell);
  const backgroundZeros = backgroundShare * noiseOfZeros(context, blank, background.zero);
  const shared = Math.hypot(zeros, ofBackground, backgroundZeros);
  return { window, zeros, background: ofBackground, backgroundZeros, shared };
}
