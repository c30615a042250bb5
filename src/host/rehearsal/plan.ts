import { randomBytes } from 'node:crypto';
import { existsSync } from 'node:fs';
import { ChambersideError } from '../../model/error-code.ts';
import { makeIdentifier, type Identifier, type IdentifierKind } from '../../model/identity.ts';
import { toMicroseconds } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { StudyRecorder, UnfinishedTrial } from '../store/contract.ts';
import { readTrial } from '../store/read.ts';
import { describeTrials } from '../store/trial-states.ts';
import type { RehearsalWire } from './stage.ts';

/** A host that comes back takes this long on the virtual clock, s. */
const virtualRestartSeconds = 5;

export const defaultScenario = 'demo';
export const defaultSeed = 1;

/** The options of a rehearsal that decide where it begins. */
export interface PlanOptions {
  readonly studyPath: string;
  readonly wire: RehearsalWire;
  /** Null: that of the trial that is resumed, else `demo`. */
  readonly scenario: string | null;
  /** Null: that of the trial that is resumed, else 1. */
  readonly seed: number | null;
  /** Multiple of real time; Infinity does not wait. */
  readonly speed: number;
  /** Go on with the study's unfinished rehearsal instead of beginning a new one. */
  readonly resume: boolean;
}

/** What a rehearsal begins from: nothing, or a trial that was interrupted. */
export interface RehearsalPlan {
  readonly wire: RehearsalWire;
  readonly scenario: string;
  readonly seed: number;
  readonly speed: number;
  readonly trial: Identifier;
  readonly truthPath: string;
  readonly virtualStartMicroseconds: number;
  readonly startedInside: { readonly exercise: string | null } | null;
  readonly continued: boolean;
  /** Trial time at which the new segment begins, µs. */
  readonly beginsAtMicroseconds: number;
  readonly segment: number;
  readonly events: readonly TrialEvent[];
}

/** @throws ChambersideError `file-damaged` when the trial to go on with has no time segment. */
export function planRehearsal(options: PlanOptions, unfinished: UnfinishedTrial | null): RehearsalPlan {
  const trial = unfinished?.trial ?? newIdentifier('trial');
  const truthPath = truthPathOf(options.studyPath, trial);
  const shared = { wire: options.wire, speed: options.speed, trial, truthPath };
  if (unfinished === null) {
    return {
      ...shared,
      scenario: options.scenario ?? defaultScenario,
      seed: options.seed ?? defaultSeed,
      virtualStartMicroseconds: 0,
      startedInside: null,
      continued: false,
      beginsAtMicroseconds: 0,
      segment: 0,
      events: [],
    };
  }
  const segment = unfinished.segments.at(-1);
  if (segment === undefined) {
    throw new ChambersideError('file-damaged', 'the trial has no time segment', trial, 'Verify the study.');
  }
  const sinceSegment = unfinished.throughMicroseconds - segment.beginsAtMicroseconds;
  const gap =
    options.wire === 'none'
      ? toMicroseconds(virtualRestartSeconds)
      : Math.max(0, Math.round((Date.now() - Date.parse(segment.wallAnchor)) * 1000 - sinceSegment));
  const events = readTrial(options.studyPath, trial).events;
  const entered = events
    .filter((event) => event.kind === 'cue' && (event.cue === 'enter' || event.cue === 'leave'))
    .at(-1);
  return {
    ...shared,
    scenario: options.scenario ?? unfinished.header.rehearsal?.scenario ?? defaultScenario,
    seed: options.seed ?? unfinished.header.rehearsal?.seed ?? defaultSeed,
    virtualStartMicroseconds: segment.monotonicOriginMicroseconds + sinceSegment + gap,
    startedInside: entered?.kind === 'cue' && entered.cue === 'enter' ? { exercise: null } : null,
    continued: existsSync(truthPath),
    beginsAtMicroseconds: unfinished.throughMicroseconds + gap,
    segment: segment.segment + 1,
    events,
  };
}

/** The truth of a trial lies beside its study, in a file of its own. */
export function truthPathOf(studyPath: string, trial: Identifier): string {
  return `${studyPath.replace(/\.chamberside$/, '')}.${trial}.truth`;
}

/**
 * The rehearsal of a study that was interrupted last.
 * @throws ChambersideError `trial-not-found`.
 */
export async function findUnfinished(study: StudyRecorder): Promise<UnfinishedTrial> {
  const candidates = (await study.unfinishedTrials()).filter((trial) => trial.header.rehearsal !== undefined);
  const last = candidates.at(-1);
  if (last === undefined) {
    throw new ChambersideError(
      'trial-not-found',
      'the study holds no unfinished rehearsal',
      study.path,
      `Leave --resume out to begin a new one. ${describeTrials(study.path)}`,
    );
  }
  return last;
}

/** An identifier from the machine's random source. */
export function newIdentifier(kind: IdentifierKind): Identifier {
  return makeIdentifier(kind, randomBytes(12));
}
