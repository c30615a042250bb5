import type { DwellPurpose, Stage, TrialEventOf } from '../model/trial-event.ts';
import type { PositionBalance, RotationRule } from './rotation.ts';

export type CueName = TrialEventOf<'cue'>['cue'];

/** Something said or shown to the subject at a planned moment of a step. */
export interface ScheduledCue {
  /** From the planned beginning of the step, µs; equal to the step's duration for a cue at its end. */
  readonly offsetMicroseconds: number;
  readonly cue: CueName;
  readonly exercise: string | null;
  readonly text: string;
}

/** One planned stay of the selector valve on one port. */
export interface Step {
  /** Index in `Schedule.steps`. */
  readonly step: number;
  /**
   * The filtered-air dwell that leads into an exercise has the stage `exercise` although its first
   * `restZeroSeconds` are the end of the rest; the cue `begin` inside it says when movement begins.
   */
  readonly stage: Stage;
  readonly purpose: DwellPurpose;
  readonly port: number;
  readonly probe: string;
  /** Exercise in which it lies or which follows (rest); null in background, entry and closing. */
  readonly exercise: string | null;
  readonly exerciseIndex: number | null;
  /** Position among the probe dwells of the exercise, from 1; null for other purposes. */
  readonly dwellPosition: number | null;
  /** Planned beginning from the start of the schedule, µs, when entry takes its shortest time and nobody holds. */
  readonly offsetMicroseconds: number;
  readonly durationMicroseconds: number;
  /** Longer than the duration only in the entry stage, which waits for a steady challenge. */
  readonly longestMicroseconds: number;
  readonly cues: readonly ScheduledCue[];
}

/** Where an exercise lies in the steps, rest included. */
export interface ScheduledExercise {
  readonly exercise: string;
  readonly name: string;
  readonly beginText: string;
  /** First step of the rest before it. */
  readonly restStep: number;
  /** The filtered-air dwell that leads into it; null when rest zero and lead-in are both nothing. */
  readonly zeroStep: number | null;
  readonly firstProbeStep: number;
  readonly lastProbeStep: number;
}

/** A compiled series: what the trial machine walks through. Fully determined by series and rig. */
export interface Schedule {
  readonly steps: readonly Step[];
  readonly exercises: readonly ScheduledExercise[];
  /** Where the valve is parked when nothing is measured. */
  readonly filteredAirPort: number;
  /** Shortest dwell worth asking for, µs: valve switching, way to the photometer, least usable time. */
  readonly leastDwellMicroseconds: number;
  /** Nominal length, µs. */
  readonly durationMicroseconds: number;
  readonly rotationRule: RotationRule;
  readonly balance: PositionBalance;
}
