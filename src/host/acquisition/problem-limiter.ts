import type { Problem } from '../../model/reading.ts';

/**
 * Keeps a flood of equal problems (a wrong baud rate makes thousands a second) from drowning the record: within
 * each second the first few of an instrument and code pass as they are, the rest are added up into one that says
 * how many it stands for. No byte count is lost.
 */
export interface ProblemLimiter {
  add(problem: Problem): void;
  /** Emits what has been added up; called once a second and at the end. */
  flush(atMicroseconds: number): void;
}

export function createProblemLimiter(options: {
  /** Problems of one instrument and code that pass in a second, ≥ 1. */
  readonly passPerSecond: number;
  readonly emit: (problem: Problem) => void;
}): ProblemLimiter {
  interface Tally {
    passed: number;
    held: number;
    heldBytes: number;
    last: Problem;
  }
  const tallies = new Map<string, Tally>();
  return {
    add(problem) {
      const key = `${problem.instrument} ${problem.code}`;
      const tally = tallies.get(key);
      if (tally === undefined) {
        tallies.set(key, { passed: 1, held: 0, heldBytes: 0, last: problem });
        options.emit(problem);
      } else if (tally.passed < options.passPerSecond) {
        tally.passed += 1;
        tally.last = problem;
        options.emit(problem);
      } else {
        tally.held += 1;
        tally.heldBytes += problem.byteCount;
        tally.last = problem;
      }
    },
    flush(atMicroseconds) {
      for (const tally of tallies.values()) {
        if (tally.held === 0) continue;
        options.emit({
          ...tally.last,
          atMicroseconds,
          detail: `${tally.held} more of the same in this second, last: ${tally.last.detail}`,
          byteCount: tally.heldBytes,
        });
      }
      tallies.clear();
    },
  };
}
