import type { BlankScatter } from '../calibration/blank-scatter.ts';
import type { DwellPurpose } from '../model/trial-event.ts';
import type { BudgetGap } from './budget/line.ts';
import type { ExerciseInterval, SliceScatter } from './budget/slice.ts';
import type { StatedUncertainty } from './budget/uncertainty.ts';
import type { Flag } from './flag.ts';
import type { LeftOutOfTrial } from './left-out.ts';
import type { UsedTimeConstant } from './time-constant.ts';

/** One dwell read: its window and the mean of it. Readings are in the photometer stream's unit. */
export interface DwellMean {
  readonly dwell: number;
  readonly purpose: DwellPurpose;
  readonly port: number;
  readonly probe: string;
  /** Stretch of arrival time that the mean stands for, µs. */
  readonly arrivalFromMicroseconds: number;
  readonly arrivalToMicroseconds: number;
  /** The same on probe time: when that air left the probe, µs. */
  readonly probeFromMicroseconds: number;
  readonly probeToMicroseconds: number;
  /** What of it was used, in order of time, where a stretch inside it is left out; absent: all of it. */
  readonly pieces?: readonly { readonly arrivalFromMicroseconds: number; readonly arrivalToMicroseconds: number }[];
  readonly readings: number;
  /** mean(y). */
  readonly meanReading: number;
  /** tau · (y_end − y_start)/W; 0 when the method does not correct the lag. */
  readonly lagTerm: number;
  /** meanReading + lagTerm. */
  readonly correctedReading: number;
  /** Standard uncertainty of correctedReading from blank scatter; null until scatter is known. */
  readonly noiseReading: number | null;
  /** What the previous port may still add, signed; 0 when no reading tells what was before. */
  readonly carryOverReading: number;
  readonly complete: boolean;
  readonly flags: readonly Flag[];
}

/** A zero or a reference at the moment of a window, and the dwells it comes from. */
export interface InterpolatedReading {
  readonly value: number;
  readonly beforeDwell: number | null;
  readonly afterDwell: number | null;
  /** Share of the dwell after, 0 to 1. */
  readonly weightAfter: number;
}

/** A probe's own reading before the challenge. */
export interface BackgroundReading {
  readonly dwell: number;
  /** Corrected reading minus the zero around it: what is subtracted from a window's net reading. */
  readonly netReading: number;
  readonly zero: InterpolatedReading;
  /** Share of netReading that is subtracted, in the breathing zone; absent: all of it. */
  readonly share?: number;
}

/** A dwell turned into leakage, with every input, so that a person can recompute it. */
export interface CellPart {
  readonly dwell: number;
  readonly dwellPosition: number | null;
  /** Null when the dwell has no usable window; the flags say why. */
  readonly reading: DwellMean | null;
  readonly zero: InterpolatedReading | null;
  /** S, the chamber reference at the probe time of the window, as a reading. */
  readonly span: InterpolatedReading | null;
  /** Null also when the method does not subtract it. */
  readonly background: BackgroundReading | null;
  /** Factors as applied: 1 when the method does not apply them. */
  readonly dilution: number;
  readonly penetration: number;
  readonly referenceDilution: number;
  readonly referencePenetration: number;
  readonly spatialFactor: number;
  /** Of the photometer, by certificate; absent: none states it. */
  readonly linearity?: number;
  /** Of the window, for a probe in the breathing zone: factor = (t_in + t_ex)/t_in. Absent: not corrected for. */
  readonly breathing?: { readonly inspiredSeconds: number; readonly expiredSeconds: number; readonly factor: number };
  readonly windowPercent: number | null;
  readonly detectionLimitPercent: number | null;
  readonly flags: readonly Flag[];
}

/** Leakage of one exercise at one probe, percent of the challenge at the subject's place. */
export interface Cell extends StatedUncertainty, ExerciseInterval {
  readonly exercise: string;
  readonly probe: string;
  /** Of the (first) dwell used; null when there is none. */
  readonly dwellPosition: number | null;
  /** Attempt of the exercise from which the dwells come; 0 when it was never begun. */
  readonly attempt: number;
  /** Null when an input is missing; the flags say which. Never clipped at zero. */
  readonly windowPercent: number | null;
  /** Why there is no interval although there is a value; empty where there is one. */
  readonly budgetGaps: readonly BudgetGap[];
  /** The same central value when the whole exercise is asked for, of which only slices were seen. */
  readonly exercisePercent: number | null;
  readonly detectionLimitPercent: number | null;
  /** Readings in all windows used. */
  readonly readings: number;
  /** One for a whole dwell, several for a split one. Parts whose windowPercent is null do not enter the cell. */
  readonly parts: readonly CellPart[];
  readonly flags: readonly Flag[];
  /** True when any flag casts doubt. */
  readonly flagged: boolean;
}

/** Mean over cells. Cells without a value cannot enter; flagged ones do, and are counted. */
export interface CellMean extends StatedUncertainty, ExerciseInterval {
  readonly windowPercent: number | null;
  /** 100/mean: the harmonic form of the cells' factors. Null unless the mean is above zero. */
  readonly protectionFactor: number | null;
  readonly cells: number;
  readonly cellsFlagged: number;
  readonly cellsMissing: number;
  readonly flags: readonly Flag[];
  readonly flagged: boolean;
}

/** A trial turned into leakage by a method. Plain data: it survives JSON unchanged. */
export interface Assessment {
  readonly trial: string;
  readonly virtual: boolean;
  readonly method: { readonly name: string; readonly version: number };
  /** Where the method adapts settling: the time constant that was used instead of the rig's, and its origin. */
  readonly timeConstant?: UsedTimeConstant;
  /** Stretches that a reviewer left out, with what each took; absent: none. */
  readonly leftOut?: readonly LeftOutOfTrial[];
  /** Unit of every reading in it. */
  readonly readingUnit: string;
  readonly blank: BlankScatter | null;
  /** How much slices of an exercise differ from the whole; null where the trial does not show it. */
  readonly slice: SliceScatter | null;
  /** Dwells that serve as zero and reference, in order of time, and as background, in the order of the rig. */
  readonly zeros: readonly DwellMean[];
  readonly references: readonly DwellMean[];
  readonly backgrounds: readonly DwellMean[];
  /** Exercises in the order of the series, in each the probes in the order of the rig. */
  readonly cells: readonly Cell[];
  readonly probes: readonly (CellMean & { readonly probe: string })[];
  readonly exercises: readonly (CellMean & { readonly exercise: string })[];
  readonly overall: CellMean;
  /** Of the trial as a whole: drift of the span, and everything that a cell carries. */
  readonly flags: readonly Flag[];
}
