import type { Rig } from '../../model/rig.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import type { CheckRecord, CheckStep } from './step.ts';
import type { CheckKind, CheckVerdict } from './vocabulary.ts';

/** How long is read; what else a check takes follows from it. */
export interface CheckPace {
  /** One reading of air that has settled, s. */
  readonly readSeconds: number;
}

/** A check as data and two pure functions: what is done, and what follows from what was recorded. */
export interface CheckDefinition {
  readonly check: CheckKind;
  /** Days for which a pass holds unless somebody says otherwise; this program's own, from no standard. */
  readonly validDays: number;
  /** The challenge is in the chamber, and nobody unprotected is. */
  readonly usesChallenge: boolean;
  /** What it can be made of: names of ports, null for the rig as a whole. Empty: not on this rig. */
  subjects(rig: Rig): readonly (string | null)[];
  /** Instruments that must be connected. */
  needs(rig: Rig): readonly string[];
  /** Whether it keeps the readings of a stream. */
  keeps(rig: Rig, stream: StreamDescriptor): boolean;
  steps(rig: Rig, subject: string | null, pace: CheckPace): CheckStep[];
  /** The same record and rig give the same verdict. Never throws: what cannot be computed is a fault. */
  evaluate(record: CheckRecord, rig: Rig): CheckVerdict;
}

/** Of the whole rig, by valve and photometer: what most checks are. */
export const ofTheAir = {
  usesChallenge: true,
  subjects: (): readonly (string | null)[] => [null],
  needs: (rig: Rig): readonly string[] => [rig.photometer, rig.selectorValve],
  keeps: (rig: Rig, { instrument, stream }: StreamDescriptor): boolean =>
    instrument === rig.photometer && stream === rig.photometerStream,
} as const;
