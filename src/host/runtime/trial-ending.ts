import type { TrialSnapshot } from '../../bridge/trial-snapshot.ts';
import type { Alarm } from '../../safety/limits.ts';
import { failureOf } from '../failure.ts';
import type { TrialSession } from '../session/trial-session.ts';
import type { TrialRecorder } from '../store/contract.ts';

export interface TrialEndingOptions {
  readonly session: Pick<TrialSession, 'finished' | 'failed' | 'alarms' | 'machine' | 'command' | 'end'>;
  readonly recorder: TrialRecorder;
  /** Resolves when the list of after the trial has been gone through. */
  readonly afterDone: () => Promise<void>;
  /** Seals and assesses; the session has ended. Told in between what it is doing. */
  readonly finish: (recorder: TrialRecorder, tell: (state: 'sealing' | 'assessing') => void) => Promise<void>;
  /** Leaves the trial unfinished when the session cannot go on. @returns what went wrong with that. Never rejects. */
  readonly abandon: (recorder: TrialRecorder) => Promise<string | null>;
  /** Trial time, µs. */
  readonly now: () => number;
  /** Nothing is recorded any more, and nothing need be looked at. */
  readonly onStopped: () => void;
  /** It is settled how the trial was left. */
  readonly onLeft: () => void;
  readonly onChange: () => void;
}

/** How a trial comes to its end: recorded until somebody has looked after the subject, sealed, assessed; or left. */
export interface TrialEnding {
  readonly state: TrialSnapshot['ending'];
  /** What went wrong, where, and what to do; null while nothing did. */
  readonly failure: string | null;
  /** What happens is recorded. */
  readonly recording: boolean;
  /** Standing ones, and what was left of them at the end. */
  readonly alarms: readonly Alarm[];
  /** Follows the session to its end. Never rejects. */
  follow(): Promise<void>;
  /** @returns whether the alarm was one of those left at the end, which only the screen still shows. */
  acknowledgeLeft(alarm: string, instrument: string | null): boolean;
  /** The host ends: recorded to the last, and left unfinished. */
  interrupt(reason: string): Promise<void>;
}

/** A disk that refuses is waited for so long when the host ends, ms; closing the study says what was not kept. */
const patienceMilliseconds = 10_000;

async function withPatience(work: Promise<void>): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const over = new Promise<void>((resolve) => {
    timer = setTimeout(resolve, patienceMilliseconds);
  });
  await Promise.race([work, over]).finally(() => clearTimeout(timer));
}

/** As a sentence. */
export function failureText({ remedy, what, where }: ReturnType<typeof failureOf>): string {
  return `${what} (${where}). ${remedy}`;
}

export function followToEnd(options: TrialEndingOptions): TrialEnding {
  const { session, recorder } = options;
  let state: TrialSnapshot['ending'] = 'no';
  let failure: string | null = null;
  let recording = true;
  let interrupted = false;
  /** Alarms of a trial whose session has ended. */
  let lastAlarms: readonly Alarm[] = [];
  let failedAlarm: Alarm | null = null;

  const tell = (next: TrialSnapshot['ending']): void => {
    state = next;
    options.onChange();
  };
  const stop = (): void => {
    options.onStopped();
    lastAlarms = session.alarms;
    recording = false;
  };
  const sealed = async (): Promise<void> => {
    await session.finished;
    // Recorded on until somebody has looked after the subject.
    if (!interrupted) await Promise.race([options.afterDone(), session.failed]);
    if (interrupted) return;
    await session.end();
    stop();
    tell('sealing');
    await options.finish(recorder, tell);
    options.onLeft();
    tell('done');
  };
  const failed = async (error: unknown): Promise<void> => {
    const wasRecording = recording;
    await session.end().catch(() => undefined);
    stop();
    const { what, ...rest } = failureOf(error);
    failure = failureText({ what, ...rest });
    if (wasRecording) {
      failedAlarm = {
        alarm: 'trial-failed',
        instrument: null,
        detail: what,
        raisedAtMicroseconds: options.now(),
        clearedAtMicroseconds: null,
        acknowledged: false,
      };
      const more = await options.abandon(recorder);
      if (more !== null) failure = `${failure} ${more}`;
    }
    tell('failed');
  };

  return {
    get state() {
      return state;
    },
    get failure() {
      return failure;
    },
    get recording() {
      return recording;
    },
    get alarms() {
      const standing = recording ? session.alarms : lastAlarms;
      return failedAlarm === null ? standing : [...standing, failedAlarm];
    },
    async follow() {
      try {
        await sealed();
      } catch (error) {
        if (!interrupted) await failed(error);
      }
    },
    acknowledgeLeft(alarm, instrument) {
      if (failedAlarm !== null && alarm === failedAlarm.alarm) {
        failedAlarm = { ...failedAlarm, acknowledged: true };
        return true;
      }
      if (recording) return false;
      lastAlarms = lastAlarms.filter((entry) => entry.alarm !== alarm || entry.instrument !== instrument);
      return true;
    },
    async interrupt(reason) {
      if (state !== 'no') return;
      interrupted = true;
      if (session.machine.phase === 'running') session.command('hold', 'host', reason);
      await session.end();
      stop();
      await withPatience(recorder.abandon());
      options.onLeft();
    },
  };
}
