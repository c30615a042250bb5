/** Without a sign of life from the host for this long, it counts as gone, µs. */
export const silenceMicroseconds = 1_000_000;
/** How often the host gives a sign of life, µs. */
export const beatMicroseconds = 200_000;
/** How long a guard without a host goes on with what was not acknowledged, µs, and how often it tries. */
export const lingerMicroseconds = 60_000_000;
export const againMicroseconds = 2_000_000;

/**
 * Plain data; replaced, never changed. `idle`: no line was opened yet, or all were given back. `parking`: loads are
 * being set to zero. `parked`: that was done, or tried, and nobody has taken over since.
 */
export interface GuardState {
  readonly phase: 'idle' | 'watching' | 'parking' | 'parked';
  readonly hostIsThere: boolean;
  readonly lastBeatMicroseconds: number;
  /** Everything was acknowledged, last time. */
  readonly acknowledged: boolean;
  /** When the host went. */
  readonly goneMicroseconds: number;
  /** When parking ended, last time. */
  readonly parkedMicroseconds: number;
}

export type GuardInput =
  | { readonly input: 'host-came' }
  /** Given at this time, µs: what it waited to be read is not the host's. */
  | { readonly input: 'beat'; readonly givenMicroseconds: number }
  /** Its connection is gone, or it speaks what nobody understands. */
  | { readonly input: 'host-gone'; readonly why: string }
  /** The host opens a line: from now on it steers again. */
  | { readonly input: 'opened' }
  /** The last line was given back, every load on it at zero. */
  | { readonly input: 'all-closed' }
  /** Somebody with the right to says that it must end. */
  | { readonly input: 'told-to-end'; readonly why: string }
  | { readonly input: 'park-done'; readonly acknowledged: boolean }
  /** Time has passed. */
  | { readonly input: 'look' };

export type GuardEffect =
  /** Loads to zero, valve to filtered air, whatever the host says meanwhile. */
  | { readonly effect: 'park'; readonly why: string }
  /** Ports back, process over. */
  | { readonly effect: 'end' };

export interface GuardStep {
  readonly state: GuardState;
  readonly effects: readonly GuardEffect[];
}

export function beginGuard(nowMicroseconds: number): GuardState {
  return {
    phase: 'idle',
    hostIsThere: false,
    lastBeatMicroseconds: nowMicroseconds,
    acknowledged: true,
    goneMicroseconds: nowMicroseconds,
    parkedMicroseconds: nowMicroseconds,
  };
}

/** When it must be looked at again, µs. */
export function nextLook(state: GuardState): number {
  // Its end is told.
  if (state.phase === 'parking') return Infinity;
  if (state.phase === 'watching' && state.hostIsThere) return state.lastBeatMicroseconds + silenceMicroseconds;
  const again = state.parkedMicroseconds + againMicroseconds;
  const linger = state.goneMicroseconds + lingerMicroseconds;
  if (state.hostIsThere) return state.phase === 'parked' && !state.acknowledged ? again : Infinity;
  return state.phase === 'parked' && !state.acknowledged ? Math.min(again, linger) : linger;
}

/** What an input at this time makes of the guard. */
export function nextGuard(state: GuardState, input: GuardInput, nowMicroseconds: number): GuardStep {
  const stay: GuardStep = { state, effects: [] };
  const park = (from: GuardState, why: string): GuardStep => ({
    state: { ...from, phase: 'parking' },
    effects: [{ effect: 'park', why }],
  });
  const over: GuardStep['effects'] = [{ effect: 'end' }];
  switch (input.input) {
    case 'host-came':
      return { state: { ...state, hostIsThere: true, lastBeatMicroseconds: nowMicroseconds }, effects: [] };
    case 'beat':
      return {
        state: {
          ...state,
          lastBeatMicroseconds: Math.max(
            state.lastBeatMicroseconds,
            Math.min(input.givenMicroseconds, nowMicroseconds),
          ),
        },
        effects: [],
      };
    case 'opened':
      // What is being parked stays so: the host asks again.
      if (state.phase === 'parking') return stay;
      return { state: { ...state, phase: 'watching', lastBeatMicroseconds: nowMicroseconds }, effects: [] };
    case 'all-closed':
      return state.phase === 'watching' ? { state: { ...state, phase: 'idle' }, effects: [] } : stay;
    case 'host-gone': {
      if (!state.hostIsThere) return stay;
      const alone = { ...state, hostIsThere: false, goneMicroseconds: nowMicroseconds };
      if (state.phase === 'watching') return park(alone, input.why);
      const done = state.phase === 'idle' || (state.phase === 'parked' && state.acknowledged);
      return { state: alone, effects: done ? over : [] };
    }
    case 'told-to-end': {
      const alone = { ...state, hostIsThere: false, goneMicroseconds: nowMicroseconds - lingerMicroseconds };
      if (state.phase === 'watching') return park(alone, input.why);
      return { state: alone, effects: state.phase === 'parking' ? [] : over };
    }
    case 'park-done': {
      const { acknowledged } = input;
      const parked = { ...state, phase: 'parked' as const, acknowledged, parkedMicroseconds: nowMicroseconds };
      const lingers = !acknowledged && nowMicroseconds < state.goneMicroseconds + lingerMicroseconds;
      const waits = state.hostIsThere || lingers;
      return { state: parked, effects: waits ? [] : over };
    }
    case 'look': {
      if (nowMicroseconds < nextLook(state)) return stay;
      if (state.phase === 'watching') return park(state, 'the program did not answer for 1 s');
      if (!state.hostIsThere && nowMicroseconds >= state.goneMicroseconds + lingerMicroseconds) {
        return { state, effects: over };
      }
      return park(state, 'tried again: it was not acknowledged');
    }
  }
}
