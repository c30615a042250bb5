import { describe, expect, it } from 'vitest';
import { beginSafety, evaluate } from '../../src/safety/limits.ts';
import { heartLimitFrom, limitByAge, plannedHeartLimit, sustainedStrain } from '../../src/safety/heart-limits.ts';

const none = { sharePercent: 100, sustainedMinutes: null } as const;

describe('limits of the heart rate by age, as a trial is held to them', () => {
  // Forms as in tests/published/physiology.test.ts: 220 − age and 208 − 0.7 · age of public pages and code,
  // 180 − age of NIOSHTIC 20022478, 185 − 0.65 · age of ISO 9886 annex C from memory.
  it.each([
    ['220-minus-age', 40, 180],
    ['tanaka', 40, 180],
    ['iso-9886', 40, 159],
    ['sustained-strain', 40, 140],
    ['220-minus-age', 20, 200],
    ['tanaka', 20, 194],
  ] as const)('%s at %i years is %i a minute', (form, years, perMinute) => {
    expect(limitByAge({ ...none, form, years }).perMinute).toBe(perMinute);
  });

  it.each([
    // Nine tenths of Tanaka and 85 % of 220 − age: common practice, no source.
    ['tanaka', 40, 90, 162],
    ['220-minus-age', 40, 85, 153],
    ['220-minus-age', 33, 85, 158],
  ] as const)('%s at %i years, %i %% of it, is %i a minute, rounded down', (form, years, sharePercent, perMinute) => {
    const byAge = limitByAge({ ...none, form, years, sharePercent });
    expect(byAge.perMinute).toBe(perMinute);
    expect(byAge.said).toContain(`${sharePercent} % of`);
  });

  it('is the stricter of two, and says which', () => {
    const byAge = { ...none, form: '220-minus-age', years: 40, sharePercent: 85 } as const;
    expect([plannedHeartLimit(null, byAge), plannedHeartLimit(150, byAge), plannedHeartLimit(170, byAge)]).toEqual([
      153, 150, 153,
    ]);
    expect([plannedHeartLimit(150, null), plannedHeartLimit(null, null)]).toEqual([150, null]);
    expect(heartLimitFrom(null, byAge)).toBe('85 % of 220 − age');
    expect(heartLimitFrom(150, byAge)).toBe('set by the responsible person, below 153 by 85 % of 220 − age');
    expect(heartLimitFrom(170, byAge)).toBe('85 % of 220 − age, 170 was set');
    expect(heartLimitFrom(170, null)).toBeNull();
  });

  it('is none for an age outside 16 to 80', () => {
    expect(() => limitByAge({ ...none, form: 'tanaka', years: 81 })).toThrow(/physician|16/);
  });

  it('stops sustained strain: 131 a minute for five minutes at 50 years, limit 130 (NIOSHTIC 20022478)', () => {
    const limit = sustainedStrain('belt', { form: 'tanaka', years: 50, sharePercent: 90, sustainedMinutes: 5 });
    if (limit === null) throw new Error('not watched');
    expect([limit.limit, limit.holdSeconds, limit.priority]).toEqual([130, 300, 'high']);
    const limits = { streams: [], heartRate: null, watched: [limit], contacts: [], contactClearSeconds: 5 };
    const raisedAt = (rate: number, seconds: number): number | null => {
      let state = beginSafety(0);
      for (let at = 0; at <= seconds; at += 1) {
        const reading = { instrument: 'belt', stream: 'heart-rate', value: rate, atMicroseconds: at * 1e6 };
        const step = evaluate(state, { input: 'reading', reading }, limits);
        state = step.state;
        if (step.events.length > 0) return at;
      }
      return null;
    };
    expect(raisedAt(131, 600)).toBe(300);
    expect(raisedAt(130, 600)).toBeNull();
    expect(sustainedStrain('belt', { form: 'tanaka', years: 50, sharePercent: 90, sustainedMinutes: null })).toBeNull();
  });
});
