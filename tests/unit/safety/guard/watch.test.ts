import { describe, expect, it } from 'vitest';
import { beginGuard, lingerMicroseconds, nextGuard, nextLook } from '../../../../src/safety/guard/watch.ts';
import type { GuardInput, GuardState } from '../../../../src/safety/guard/watch.ts';

const second = 1_000_000;

/** Inputs at times, s; what they bring about. */
function play(inputs: readonly (readonly [seconds: number, input: GuardInput])[]): {
  readonly state: GuardState;
  readonly effects: readonly (readonly [number, string])[];
} {
  let state = beginGuard(0);
  const effects: (readonly [number, string])[] = [];
  for (const [seconds, input] of inputs) {
    const step = nextGuard(state, input, seconds * second);
    state = step.state;
    for (const effect of step.effects) effects.push([seconds, effect.effect]);
  }
  return { state, effects };
}

const came = { input: 'host-came' } as const;
/** Read at once. */
const beat = { input: 'beat', givenMicroseconds: Infinity } as const;
const opened = { input: 'opened' } as const;
const look = { input: 'look' } as const;
const gone = { input: 'host-gone', why: 'killed' } as const;
const done = (acknowledged: boolean): GuardInput => ({ input: 'park-done', acknowledged });

describe('the watch of a guard', () => {
  it('lets a host be that gives signs of life', () => {
    const beats = Array.from({ length: 50 }, (_each, index) => [0.9 * (index + 1), beat] as const);
    const looks = beats.map(([at]) => [at + 0.05, look] as const);
    const both = beats.flatMap((each, index) => [each, looks[index] ?? each]);
    expect(play([[0, came], [0.1, opened], ...both]).effects).toEqual([]);
  });

  it('takes the loads 1 s after the last sign of life, and no earlier', () => {
    const { state } = play([[0, came], [0, opened], [3, beat]]);
    expect(nextLook(state)).toBe(4 * second);
    expect(nextGuard(state, look, 3.999 * second).effects).toEqual([]);
    expect(nextGuard(state, look, 4 * second).effects).toMatchObject([{ effect: 'park' }]);
  });

  it('counts from when a sign of life was given, not from when it was read', () => {
    const late = { input: 'beat', givenMicroseconds: 2.5 * second } as const;
    const { state } = play([[0, came], [0, opened], [2.9, late], [2.95, { ...late, givenMicroseconds: second }]]);
    expect(nextLook(state)).toBe(3.5 * second);
  });

  it('takes them at once when the connection is gone, and ends when all is acknowledged', () => {
    expect(play([[0, came], [0, opened], [2, gone], [2.2, done(true)]]).effects).toEqual([
      [2, 'park'],
      [2.2, 'end'],
    ]);
  });

  it('goes on trying what is not acknowledged, for a minute', () => {
    const inputs: (readonly [number, GuardInput])[] = [[0, came], [0, opened], [2, gone], [3, done(false)]];
    let { state } = play(inputs);
    let parks = 0;
    let now = 3 * second;
    for (;;) {
      now = nextLook(state);
      const step = nextGuard(state, look, now);
      state = step.state;
      if (step.effects.some(({ effect }) => effect === 'end')) break;
      parks += 1;
      state = nextGuard(state, done(false), now).state;
    }
    expect(parks).toBe(29);
    expect(now).toBe(2 * second + lingerMicroseconds);
  });

  it('stays with a host that stood still until it opens a line again', () => {
    const parked = [[0, came], [0, opened], [1, look], [1.2, done(true)]] as const;
    const later = [[5, beat], [100, look]] as const;
    expect(play([...parked, ...later]).effects).toEqual([[1, 'park']]);
    expect(play([...parked, [5, opened], [6, look]]).effects).toEqual([
      [1, 'park'],
      [6, 'park'],
    ]);
    expect(play([...parked, [9, gone]]).effects).toEqual([
      [1, 'park'],
      [9, 'end'],
    ]);
  });

  it('does not hand over a line while it sets loads to zero', () => {
    const { state } = play([[0, came], [0, opened], [1, look], [1.1, opened]]);
    expect(state.phase).toBe('parking');
  });

  it('watches nothing when every line was given back, and ends with the host', () => {
    expect(play([[0, came], [0, opened], [1, { input: 'all-closed' }], [60, look], [61, gone]]).effects).toEqual([
      [61, 'end'],
    ]);
  });

  it('sets loads to zero before it ends on demand', () => {
    const end = { input: 'told-to-end', why: 'shutdown' } as const;
    expect(play([[0, came], [0, opened], [0.5, end], [0.6, done(false)]]).effects).toEqual([
      [0.5, 'park'],
      [0.6, 'end'],
    ]);
    expect(play([[0, end]]).effects).toEqual([[0, 'end']]);
    expect(play([[0, came], [0, opened], [0.5, gone], [0.6, end], [0.7, done(false)]]).effects).toEqual([
      [0.5, 'park'],
      [0.7, 'end'],
    ]);
  });

  it('ends after a minute to which nobody came', () => {
    expect(play([[59, look], [60, look]]).effects).toEqual([[60, 'end']]);
  });
});
