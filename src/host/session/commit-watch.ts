import type { Cancel, Clock } from '../../device/timers.ts';
import { microsecondsPerSecond } from '../../model/time.ts';
import type { TrialRecorder } from '../store/contract.ts';

/** What was handed over must be on the disk after so long, µs of the machine clock. */
export const longestCommitMicroseconds = 3 * microsecondsPerSecond;
/** Between two looks, µs. */
const lookMicroseconds = 500_000;

export interface CommitWatchOptions {
  /** The machine clock: a disk does not follow a virtual one. */
  readonly clock: Clock;
  readonly recorder: Pick<TrialRecorder, 'acknowledged' | 'onAcknowledged'>;
  /** Once when a commit is overdue, once when nothing is any more. */
  readonly onChange: (overdue: boolean) => void;
  /** What `onChange` threw. */
  readonly onFailure: (error: unknown) => void;
}

export interface CommitWatch {
  /** Everything before this trial time has been handed over, µs. */
  handedOver(boundaryMicroseconds: number): void;
  /** The program did not run: what waits is counted from now. */
  forgive(): void;
  end(): void;
}

/** Notices that the disk does not take what it is given. */
export function watchCommits(options: CommitWatchOptions): CommitWatch {
  const { clock, recorder } = options;
  let waiting: { readonly boundary: number; readonly since: number }[] = [];
  let overdue = false;
  let cancel: Cancel | undefined;
  let ended = false;

  const look = (): void => {
    const { throughMicroseconds } = recorder.acknowledged();
    waiting = waiting.filter(({ boundary }) => boundary > throughMicroseconds);
    const oldest = waiting[0]?.since ?? Number.POSITIVE_INFINITY;
    const late = clock.now() - oldest > longestCommitMicroseconds;
    if (late === overdue) return;
    overdue = late;
    try {
      options.onChange(late);
    } catch (error) {
      options.onFailure(error);
    }
  };

  const lookAgain = (): void => {
    cancel = clock.after(lookMicroseconds, () => {
      look();
      if (!ended) lookAgain();
    });
  };

  const unsubscribe = recorder.onAcknowledged(() => {
    if (overdue) look();
  });
  lookAgain();
  return {
    handedOver(boundary) {
      waiting.push({ boundary, since: clock.now() });
    },
    forgive() {
      waiting = waiting.map(({ boundary }) => ({ boundary, since: clock.now() }));
    },
    end() {
      ended = true;
      cancel?.();
      unsubscribe();
    },
  };
}
