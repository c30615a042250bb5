import { existsSync } from 'node:fs';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import { toMicroseconds } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import { newIdentifier, recordEnd, subjectInside, truthPathOf, wallGapMicroseconds } from '../session/resumption.ts';
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
  /** Null: that of the trial that is resumed, else `demo`. Another than that of a resumed trial is refused. */
  readonly scenario: string | null;
  /** As `scenario`; else 1. */
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

/**
 * @throws ChambersideError `file-damaged` when the trial to go on with has no time segment, `usage-bad-value` when it
 *   was begun with another scenario or seed: its second half would be that of another body, and its result nobody's.
 */
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
  const begun = unfinished.header.rehearsal;
  refuseOther('scenario', begun?.scenario, options.scenario);
  refuseOther('seed', begun?.seed, options.seed);
  const end = recordEnd(unfinished);
  const gap = options.wire === 'none' ? toMicroseconds(virtualRestartSeconds) : wallGapMicroseconds(end, Date.now());
  const events = readTrial(options.studyPath, trial).events;
  return {
    ...shared,
    scenario: begun?.scenario ?? defaultScenario,
    seed: begun?.seed ?? defaultSeed,
    virtualStartMicroseconds: end.segment.monotonicOriginMicroseconds + end.sinceSegmentMicroseconds + gap,
    startedInside: subjectInside(events) ? { exercise: null } : null,
    continued: existsSync(truthPath),
    beginsAtMicroseconds: unfinished.throughMicroseconds + gap,
    segment: end.segment.segment + 1,
    events,
  };
}

type Choice = string | number;

function refuseOther(option: 'scenario' | 'seed', begun: Choice | undefined, asked: Choice | null): void {
  if (asked === null || begun === undefined || asked === begun) return;
  throw new ChambersideError(
    'usage-bad-value',
    `the trial to go on with was begun with ${option} ${begun}, not ${asked}`,
    `--${option}`,
    `Leave --${option} out.`,
  );
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
