import { hostLostMilliseconds } from '../../src/bridge/samples.ts';

/** Heartbeats that the estimate looks back on. */
const remembered = 40;

/**
 * The time of the sample channel as this window can know it: each heartbeat says what time it was in the host when it
 * was sent, the quickest of the last ones says it best, because delay only ever makes it look earlier.
 */
export interface HostTime {
  /** Number of the time base; −1 before the first heartbeat. */
  readonly base: number;
  /**
   * @param at `performance.now()` on arrival, ms. @param rate how fast that time runs: 1 but in a replay.
   * @returns true when the time base is another than before.
   */
  heartbeat(base: number, microseconds: number, at: number, rate?: number): boolean;
  /**
   * Channel time, µs; null while no rig is open or no heartbeat has come. It stands still when the host is silent for
   * too long: nobody knows what happens there. @param at `performance.now()`, ms.
   */
  at(at: number): number | null;
  /**
   * How much older than it is the newest reading may look, only because it is on its way, µs. Of a live trial nothing
   * that matters; when a replay runs fast a blink of the eye is many seconds of the trial.
   */
  readonly onTheWayMicroseconds: number;
}

/** What the way from the host may take, µs. */
const wayMicroseconds = 300_000;

export function createHostTime(): HostTime {
  let base = -1;
  let offsets: number[] = [];
  let heardAt = 0;
  let runs = 1;
  return {
    get base() {
      return base;
    },
    heartbeat(newBase, microseconds, at, rate = 1) {
      const changed = newBase !== base;
      base = newBase;
      heardAt = at;
      if (changed || Number.isNaN(microseconds) || rate !== runs) offsets = [];
      runs = rate;
      if (!Number.isNaN(microseconds)) offsets = [...offsets.slice(1 - remembered), microseconds - at * 1000 * rate];
      return changed;
    },
    get onTheWayMicroseconds() {
      return runs > 1 ? runs * wayMicroseconds : 0;
    },
    at: (at) =>
      offsets.length === 0 ? null : Math.max(...offsets) + Math.min(at, heardAt + hostLostMilliseconds) * 1000 * runs,
  };
}
