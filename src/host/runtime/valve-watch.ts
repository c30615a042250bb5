import type { ValveState } from '../../bridge/snapshot.ts';
import type { Cancellation } from '../../device/cancellation.ts';
import type { PortSelector } from '../../device/driver.ts';

/** What is known of the valve, whoever moves it: the trial, a check, or a hand. */
export interface ValveWatch {
  readonly state: ValveState;
  /** The same valve, watched. */
  watch(selector: PortSelector): PortSelector;
  /** The connection is gone: nobody knows where it stands. */
  lost(): void;
}

/** @param now the clock of the answers, µs. @param onChange after every change. */
export function createValveWatch(now: () => number, onChange: () => void): ValveWatch {
  let state: ValveState = { requestedPort: null, confirmedPort: null, state: 'unknown', answerMilliseconds: null };
  let newest = 0;
  const set = (part: Partial<ValveState>): void => {
    state = { ...state, ...part };
    onChange();
  };

  const select = async (
    selector: PortSelector,
    port: number,
    cancellation: Cancellation | undefined,
  ): Promise<{ readonly atMicroseconds: number }> => {
    newest += 1;
    const request = newest;
    const asked = now();
    set({ requestedPort: port, state: 'moving' });
    try {
      const answer = await selector.select(port, cancellation);
      // An answer to an older request says nothing about where it goes now.
      if (request === newest) {
        const answerMilliseconds = Math.max(0, (answer.atMicroseconds - asked) / 1000);
        set({ confirmedPort: port, state: 'confirmed', answerMilliseconds });
      }
      return answer;
    } catch (error) {
      if (request === newest) set({ state: 'unconfirmed' });
      throw error;
    }
  };

  return {
    get state() {
      return state;
    },
    watch: (selector) => ({
      select: (port, cancellation) => select(selector, port, cancellation),
      position: (cancellation) => selector.position(cancellation),
    }),
    lost() {
      newest += 1;
      set({ confirmedPort: null, state: 'unknown' });
    },
  };
}
