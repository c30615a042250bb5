import type { TrialSnapshot } from '../../../bridge/trial-snapshot.ts';
import type { Flag } from '../../../leakage/flag.ts';
import { challengeChangePercent } from '../../../leakage/provisional.ts';
import { usableOptions } from '../../../leakage/method-for-rig.ts';
import type { ProvisionalLeakage, ProvisionalState } from '../../../leakage/provisional.ts';
import type { Method } from '../../../model/method.ts';
import type { Rig } from '../../../model/rig.ts';
import type { Series } from '../../../model/series.ts';
import type { TrialHeader } from '../../../model/trial-event.ts';
import type { Schedule } from '../../../series/schedule.ts';
import { predictUsableSeconds } from '../../../series/usable.ts';
import type { AfterLine } from '../../../trial/after.ts';
import { openLines } from '../../../trial/answer-list.ts';
import type { BeforeLine } from '../../../trial/before.ts';
import { possibleActions } from '../../../trial/actions.ts';
import type { TrialMachine } from '../../../trial/machine-state.ts';
import { airView } from './air.ts';
import { exerciseViews } from './exercises.ts';
import { laneViews } from './lanes.ts';
import { nextView, nowView } from './now.ts';
import type { TrialStory } from './trial-story.ts';
import { plannedDwells, upcoming } from './upcoming.ts';

export interface TrialViewInput {
  readonly file: string;
  readonly header: TrialHeader;
  readonly rig: Rig;
  readonly series: Series;
  readonly method: Method;
  readonly schedule: Schedule;
  readonly machine: TrialMachine;
  readonly story: TrialStory;
  readonly provisional: ProvisionalState;
  readonly running: ProvisionalLeakage | null;
  readonly dwellFlags: ReadonlyMap<number, readonly Flag[]>;
  readonly newestReadingMicroseconds: number | null;
  readonly intervalMicroseconds: number;
  readonly nowMicroseconds: number;
  readonly ending: TrialSnapshot['ending'];
  readonly endingFailure: string | null;
  /** The instruments without which nothing can be measured are connected. */
  readonly mayStart: boolean;
  readonly readings: number;
  /** The one that is watched, per minute; null when no belt is. */
  readonly heartRateLimit: number | null;
  /** Whether the subject can stop the trial by a contact. */
  readonly subjectStop: TrialSnapshot['subjectStop'];
  /** How the list of before the start stands. */
  readonly before: readonly BeforeLine[];
  /** How the list of after the trial stands; empty while it is not offered. */
  readonly after: readonly AfterLine[];
  /** Whether the sealing waits for it. */
  readonly afterHolds: boolean;
}

const mostDwells = 400;

/** Everything that a window shows of the trial under way, as of one moment. Pure. */
export function trialView(input: TrialViewInput): TrialSnapshot {
  const { header, machine, provisional, rig, schedule, series, story } = input;
  const now = Math.round(input.nowMicroseconds);
  const plan = upcoming(machine, schedule, now);
  const step = plan.current?.step ?? null;
  const air =
    step === null
      ? { air: 'none' as const, usableFromMicroseconds: null }
      : airView({ ...input, step, nowMicroseconds: now });
  const view = { machine, schedule, series, story, upcoming: plan, nowMicroseconds: now, air };
  const happening = nowView(view);
  const end = plan.following.at(-1)?.toMicroseconds ?? plan.current?.toMicroseconds ?? null;
  const { reference, zero } = provisional;
  return {
    trial: header.trial,
    file: input.file,
    header,
    phase: machine.phase,
    heldBecause: machine.held,
    reason: machine.phase === 'held' || machine.phase === 'stopped' ? story.phaseReason : null,
    ending: input.ending,
    endingFailure: input.endingFailure,
    atMicroseconds: now,
    endsAtMicroseconds: end === null ? null : Math.round(end),
    now: happening,
    next: nextView(view, happening),
    exercises: exerciseViews(input),
    dwells: story.dwells.slice(-mostDwells),
    planned: plannedDwells(plan.following),
    lanes: laneViews({
      rig,
      now: happening,
      leakages: provisional.leakages,
      running: input.running,
      plannedSeconds: plannedSeconds(input),
    }),
    challenge:
      reference === null
        ? null
        : {
            meanReading: reference.reading,
            measuredToMicroseconds: reference.toMicroseconds,
            changePercent: challengeChangePercent(provisional),
          },
    filteredAir: zero === null ? null : { meanReading: zero.reading, measuredToMicroseconds: zero.toMicroseconds },
    requirementPercent: header.requirementPercent ?? null,
    heartRateLimit: input.heartRateLimit,
    subjectStop: input.subjectStop,
    before: machine.phase === 'prepared' ? [...input.before] : [],
    after: input.ending === 'no' ? [...input.after] : [],
    afterHolds: input.afterHolds && machine.phase === 'closed' && input.ending === 'no',
    allowed: allowedActions(input),
    notes: [...story.notes],
    counts: { readings: input.readings, problems: story.problems, dwells: story.dwells.length, alarms: story.alarms },
  };
}

/** Usable seconds that the newest dwell of each probe, or else its next one, was planned to have. */
function plannedSeconds(input: TrialViewInput): Map<string, number> {
  const { method, rig, schedule, story } = input;
  const predicted = predictUsableSeconds(schedule, rig, usableOptions(method));
  const seconds = new Map<string, number>();
  const take = (probe: string, step: number): void => {
    seconds.set(probe, Math.max(0, predicted[step] ?? 0));
  };
  for (const step of schedule.steps)
    if (step.purpose === 'probe' && !seconds.has(step.probe)) take(step.probe, step.step);
  for (const dwell of story.dwells) if (dwell.purpose === 'probe') take(dwell.probe, dwell.step);
  return seconds;
}

/** What would be accepted now. */
export function allowedActions(
  input: Pick<TrialViewInput, 'machine' | 'schedule' | 'ending' | 'mayStart' | 'subjectStop' | 'before' | 'header'>,
): TrialSnapshot['allowed'] {
  const { before, ending, header, machine, mayStart, schedule, subjectStop } = input;
  if (ending !== 'no') return [];
  const stands = machine.phase === 'prepared' || machine.phase === 'held';
  // Nobody is set in motion who cannot stop.
  const barred = stands && subjectStop !== 'none' && subjectStop !== 'armed';
  const actions: TrialSnapshot['allowed'] = possibleActions(machine, schedule).filter((action) => {
    if (action === 'start' && !header.virtual && openLines(before).length > 0) return false;
    if (action === 'start' || action === 'go-on') return mayStart && !barred;
    return !barred || (action !== 'repeat' && action !== 'skip');
  });
  // By hand the valve moves only where the trial does not want it anywhere.
  if (machine.phase === 'held' || machine.phase === 'prepared') actions.push('valve');
  return actions;
}
