import { certifiedRig } from '../../leakage/certified.ts';
import { driftInWords, judgeDrift } from '../../leakage/drift.ts';
import { readByMicroseconds } from '../../leakage/provisional.ts';
import type { ProvisionalState } from '../../leakage/provisional.ts';
import type { Method } from '../../model/method.ts';
import type { Reading } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import { toSeconds } from '../../model/time.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import { backToRest, backToRestInWords } from '../../physiology/back-to-rest.ts';
import type { Schedule } from '../../series/schedule.ts';
import { afterLines, refuseAfter } from '../../trial/after.ts';
import type { AfterLine, AfterWanted, Measured } from '../../trial/after.ts';
import { openLines } from '../../trial/answer-list.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';
import type { TrialSession } from '../session/trial-session.ts';
import { refusal } from './refusal.ts';
import type { TrialStory } from './view/trial-story.ts';

/** The list of after the trial: offered from the closing part of the series on, and once the trial was stopped. */
export interface AfterList {
  /** Empty while it is not offered. */
  readonly lines: AfterLine[];
  /** Whether the sealing of a closed trial waits for it. */
  readonly holds: boolean;
  observeReading(reading: Reading): void;
  /** @throws ChambersideError `action-refused`. @returns what the session says. */
  answer(wanted: AfterWanted): ReturnType<TrialSession['noteAfter']>;
  /** Resolves once nothing of it holds the sealing back, as it stands then and not as it stood before. */
  done(): Promise<void>;
}

export interface AfterListOptions {
  readonly header: TrialHeader;
  readonly rig: Rig;
  readonly method: Method;
  readonly schedule: Schedule;
  /** Unit of the photometer's stream. */
  readonly unit: string;
  readonly story: Pick<TrialStory, 'after' | 'dwells' | 'entered' | 'effortEndedMicroseconds'>;
  readonly session: Pick<TrialSession, 'machine' | 'noteAfter'>;
  readonly provisional: () => ProvisionalState;
  /** Trial time, µs. */
  readonly now: () => number;
}

/** Whether the list is offered: the subject has been inside, and exerts no more. Pure. */
export function offersAfterList(machine: TrialMachine, schedule: Schedule, hasEntered: boolean): boolean {
  if (!hasEntered) return false;
  if (machine.phase === 'stopped' || machine.phase === 'closed') return true;
  return machine.phase === 'running' && schedule.steps[machine.cursor.step]?.stage === 'closing';
}

/** A trial at a moment, as far as its drift is concerned. */
export interface DriftMoment {
  readonly rig: Rig;
  readonly method: Method;
  readonly unit: string;
  readonly phase: TrialMachine['phase'];
  readonly dwells: TrialStory['dwells'];
  readonly provisional: ProvisionalState;
  /** Trial time, µs. */
  readonly nowMicroseconds: number;
}

/** After all air of a dwell has come, it is looked at within this, µs. */
const lookedAtWithinMicroseconds = 1_000_000;

/**
 * First and last zero and reference, judged. Not before the closing zero is read: until then the last ones are from the
 * middle of the trial. Of a trial that does not run what there is counts, once air that is on its way has come.
 */
export function measuredDrift(moment: DriftMoment): Measured {
  const { dwells, method, nowMicroseconds, phase, provisional, rig, unit } = moment;
  const last = dwells.findLast(({ purpose, stage }) => stage === 'closing' && purpose === 'zero');
  const isRead = last !== undefined && provisional.zero?.dwell === last.dwell;
  const ended = last?.endedAtMicroseconds ?? null;
  const readBy = ended === null ? null : readByMicroseconds({ rig, method }, ended) + lookedAtWithinMicroseconds;
  if (!isRead && (phase === 'running' || (readBy !== null && nowMicroseconds < readBy))) {
    return { verdict: 'open', text: 'The filtered air of the end is not read yet' };
  }
  // Whatever the reason: a zero from the middle of the trial does not stand in for the one of the end.
  if (!isRead && ended !== null) return { verdict: 'open', text: 'The filtered air of the end could not be read' };
  const drift = judgeDrift(provisional, method, rig);
  return { verdict: drift.verdict, text: driftInWords(drift, unit) };
}

export function watchAfterList(options: AfterListOptions): AfterList {
  const { header, method, rig, schedule, session, story, unit } = options;
  const heart = keepHeart();
  let waiting: (() => void)[] = [];
  const nextAnswer = (): Promise<void> => new Promise((settle) => waiting.push(settle));

  const recovery = (): Measured => {
    if (rig.heartRate === null) return { verdict: 'open', text: 'No belt: the program does not watch it' };
    const ended = story.effortEndedMicroseconds;
    if (ended === null) return { verdict: 'open', text: 'No effort was begun' };
    const found = backToRest(heart.record(), toSeconds(ended), toSeconds(options.now()));
    const verdict = { back: 'good', 'not-back': 'doubt', waiting: 'open', unread: 'open' } as const;
    return { verdict: verdict[found.state], text: backToRestInWords(found) };
  };
  const lines = (): AfterLine[] => {
    if (!offersAfterList(session.machine, schedule, story.entered)) return [];
    const drift = measuredDrift({
      ...{ method, unit, phase: session.machine.phase, dwells: story.dwells },
      rig: certifiedRig(rig, header.certificates).rig,
      ...{ provisional: options.provisional(), nowMicroseconds: options.now() },
    });
    return afterLines(story.after, { recovery: recovery(), drift });
  };
  /** Nobody was inside a virtual rig: only a list that somebody has begun is waited for there. */
  const holds = (): boolean => openLines(lines()).length > 0 && (!header.virtual || story.after.size > 0);

  return {
    get lines() {
      return lines();
    },
    get holds() {
      return holds();
    },
    observeReading({ atMicroseconds, instrument, stream, value }) {
      if (rig.heartRate !== instrument || stream !== 'heart-rate') return;
      heart.add(toSeconds(atMicroseconds), value, story.effortEndedMicroseconds);
    },
    answer(wanted) {
      const offered = lines();
      if (offered.length === 0) throw refusal(...notOffered(session.machine.phase, header.trial));
      const refused = refuseAfter(wanted, offered);
      if (refused !== null) throw refusal(refused[0], wanted.item, refused[1]);
      const measured = offered.find(({ item }) => item === wanted.item)?.measured?.text ?? '';
      const { answer, item, note, persons } = wanted;
      const outcome = session.noteAfter({ item, answer, persons: [...persons], note: note.trim(), measured });
      const woken = waiting;
      waiting = [];
      for (const wake of woken) wake();
      return outcome;
    },
    async done() {
      // Asked anew after each answer: one that stood may be taken back.
      while (holds()) await nextAnswer();
    },
  };
}

/** Why there is no list to answer, and what to do. */
function notOffered(phase: TrialMachine['phase'], trial: string): [what: string, where: string, remedy: string] {
  if (phase === 'held') return ['the trial is held', trial, 'Go on or stop first, then answer.'];
  if (phase === 'running') return ['the series goes on', trial, 'Answer when it has ended, or the trial was stopped.'];
  return ['nobody was told to enter', trial, 'There is nobody to look after.'];
}

/** How long readings from before the end of the effort are kept, and readings after it, s. */
const keptBeforeSeconds = 10;
const keptAfterSeconds = 900;

/** Readings of the belt around the end of the last effort. */
function keepHeart(): {
  readonly add: (second: number, perMinute: number, endedMicroseconds: number | null) => void;
  readonly record: () => { readonly seconds: Float64Array; readonly perMinute: Float64Array };
} {
  let kept: { readonly second: number; readonly perMinute: number }[] = [];
  return {
    add(second, perMinute, ended) {
      const end = ended === null ? second : toSeconds(ended);
      if (second > end + keptAfterSeconds) return;
      kept.push({ second, perMinute });
      if ((kept[0]?.second ?? end) < end - 2 * keptBeforeSeconds) {
        kept = kept.filter((one) => one.second >= end - keptBeforeSeconds);
      }
    },
    record: () => ({
      seconds: Float64Array.from(kept, ({ second }) => second),
      perMinute: Float64Array.from(kept, ({ perMinute }) => perMinute),
    }),
  };
}
