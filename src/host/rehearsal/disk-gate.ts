import type { TrialRecorder } from '../store/contract.ts';

/**
 * Keeps virtual time from running ahead of the disk: time does not pass the middle of a second before the second
 * before it is committed. So at most the open chunk, 1.5 s of the trial, is ever in memory only, at any speed.
 */
export interface DiskGate {
  pass(trialMicroseconds: number): Promise<void> | undefined;
  /** Ends every wait with this error. */
  fail(error: Error): void;
  end(): void;
}

const second = 1_000_000;
const openMicroseconds = 500_000;

interface Waiting {
  readonly through: number;
  readonly resolve: () => void;
  readonly reject: (error: Error) => void;
}

/** @param segmentBegan where the running segment begins, trial time, µs: before it there is nothing to wait for. */
export function createDiskGate(recorder: TrialRecorder, segmentBegan: () => number): DiskGate {
  let waiting: Waiting | null = null;
  let failure: Error | null = null;
  const unsubscribe = recorder.onAcknowledged(({ throughMicroseconds }) => {
    if (waiting === null || throughMicroseconds < waiting.through) return;
    const { resolve } = waiting;
    waiting = null;
    resolve();
  });
  return {
    pass(trialMicroseconds) {
      if (failure !== null) return Promise.reject(failure);
      const through = Math.floor((trialMicroseconds - openMicroseconds) / second) * second;
      if (through <= segmentBegan() || recorder.acknowledged().throughMicroseconds >= through) return undefined;
      return new Promise((resolve, reject) => {
        waiting = { through, resolve, reject };
      });
    },
    fail(error) {
      failure ??= error;
      waiting?.reject(error);
      waiting = null;
    },
    end: unsubscribe,
  };
}
