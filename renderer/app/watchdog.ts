import { hostLostMilliseconds } from '../../src/bridge/samples.ts';

/** What a window hears of its host: any message, and its control channel, which is silent while nothing changes. */
export type SignOfLife = 'alive' | 'control-open' | 'control-closed';

/** Whether a window has contact: it hears the host, and could ask it for something. Times in ms of one clock. */
export interface Watchdog {
  heard(sign: SignOfLife, at: number): void;
  /** @returns what has changed since the last look; null when nothing has. */
  look(at: number): 'lost' | 'back' | null;
}

/**
 * Samples alone are no contact: without its control channel a window shows an old snapshot and cannot stop anything.
 * @param at the time from which the first silence counts.
 */
export function createWatchdog(at: number): Watchdog {
  let heardAt = at;
  let withoutControlSince: number | null = at;
  let lost = false;
  return {
    heard(sign, now) {
      if (sign === 'control-closed') withoutControlSince ??= now;
      else heardAt = now;
      if (sign === 'control-open') withoutControlSince = null;
    },
    look(now) {
      const silent = now - heardAt >= hostLostMilliseconds;
      const deaf = withoutControlSince !== null && now - withoutControlSince >= hostLostMilliseconds;
      const gone = silent || deaf || (lost && withoutControlSince !== null);
      if (gone === lost) return null;
      lost = gone;
      return gone ? 'lost' : 'back';
    },
  };
}
