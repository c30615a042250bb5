import type { Cancel, Timers } from './timers.ts';

/**
 * Whose turn it is on a line on which only one may speak at a time. Several conversations may share one line (a bus
 * with several addresses): each takes a turn for a request and its answer.
 */
export interface Turns {
  /**
   * Begins when everybody who asked before has had a turn: at once where the line is free. The turn lasts until
   * `release`, after which the line rests for `restMicroseconds` (≥ 0) before the next turn.
   * @returns withdraws the wish; harmless once the turn has begun.
   */
  take(begin: (release: (restMicroseconds: number) => void) => void): Cancel;
}

export interface OwnedTurns extends Turns {
  /** Nobody gets a turn any more; no timer is left. */
  end(): void;
}

export function createTurns(timers: Timers): OwnedTurns {
  const waiting: ((release: (restMicroseconds: number) => void) => void)[] = [];
  let taken = false;
  let cancelRest: Cancel | undefined;
  let ended = false;

  const beginNext = (): void => {
    if (taken || ended || cancelRest !== undefined) return;
    const begin = waiting.shift();
    if (begin === undefined) return;
    taken = true;
    let released = false;
    begin((restMicroseconds) => {
      if (released) return;
      released = true;
      taken = false;
      if (ended) return;
      if (restMicroseconds > 0) {
        cancelRest = timers.after(restMicroseconds, () => {
          cancelRest = undefined;
          beginNext();
        });
      } else {
        beginNext();
      }
    });
  };

  return {
    take(begin) {
      waiting.push(begin);
      beginNext();
      return () => {
        const index = waiting.indexOf(begin);
        if (index >= 0) waiting.splice(index, 1);
      };
    },
    end() {
      ended = true;
      waiting.length = 0;
      cancelRest?.();
      cancelRest = undefined;
    },
  };
}
