import type { TrialRecorder } from '../store/contract.ts';

/** Says when what was recorded is on the disk. */
export interface KeptWatch {
  /** Calls back once all that is recorded by now is on the disk; never, where it does not come there. */
  when(callback: () => void): void;
  /** All of it is: the record has ended well. */
  all(): void;
}

/** @param now trial time, µs. */
export function watchKept(recorder: Pick<TrialRecorder, 'onAcknowledged'>, now: () => number): KeptWatch {
  let waiting: { readonly atMicroseconds: number; readonly callback: () => void }[] = [];
  const through = (throughMicroseconds: number): void => {
    const kept = waiting.filter(({ atMicroseconds }) => atMicroseconds < throughMicroseconds);
    waiting = waiting.filter((each) => !kept.includes(each));
    for (const { callback } of kept) callback();
  };
  recorder.onAcknowledged(({ throughMicroseconds }) => through(throughMicroseconds));
  return {
    when: (callback) => void waiting.push({ atMicroseconds: now(), callback }),
    all: () => through(Infinity),
  };
}
