import { ageLimit, ageLimits } from '../physiology/heart-rate.ts';
import type { AgeForm, HeartByAge } from '../model/heart-by-age.ts';
import { planLimitPrefix } from '../model/watched-limit.ts';
import type { WatchedLimit } from '../model/watched-limit.ts';

/** A heart-rate limit by age, with where it comes from. */
export interface AgeBasedLimit {
  /** Per minute; whole, rounded down. */
  readonly perMinute: number;
  /** `85 % of 220 − age`: without the age itself. */
  readonly said: string;
}

/**
 * The share of a form that the responsible person chose.
 * @throws ChambersideError `outside-validity` outside 16 to 80 years.
 */
export function limitByAge({ form, sharePercent, years }: HeartByAge): AgeBasedLimit {
  // What is said to be 153 is no 152, for want of a binary fraction.
  const perMinute = Math.floor((ageLimit(form, years) * sharePercent) / 100 + 1e-9);
  const share = sharePercent === 100 ? '' : `${sharePercent} % of `;
  return { perMinute, said: `${share}${ageLimits[form].title}` };
}

/** The stricter of the limit that was typed and that by age, per minute; null for neither. */
export function plannedHeartLimit(typed: number | null, byAge: HeartByAge | null): number | null {
  const limits = [typed, byAge === null ? null : limitByAge(byAge).perMinute].filter((limit) => limit !== null);
  return limits.length === 0 ? null : Math.min(...limits);
}

/** Where the stricter limit is from, in words; null where only a typed one is. */
export function heartLimitFrom(typed: number | null, byAge: HeartByAge | null): string | null {
  if (byAge === null) return null;
  const { perMinute, said } = limitByAge(byAge);
  if (typed === null) return said;
  if (typed >= perMinute) return `${said}, ${typed} was set`;
  return `set by the responsible person, below ${perMinute} by ${said}`;
}

const sustained: AgeForm = 'sustained-strain';

/**
 * Sustained heat strain: a heart rate above 180 − age for several minutes, for people with a normal heart (NIOSHTIC
 * 20022478); how many minutes the responsible person says. Null where it is not to be watched.
 * @throws ChambersideError `outside-validity` outside 16 to 80 years.
 */
export function sustainedStrain(instrument: string, { sustainedMinutes, years }: HeartByAge): WatchedLimit | null {
  if (sustainedMinutes === null) return null;
  return {
    name: `${planLimitPrefix}sustained-strain`,
    title: 'Sustained strain',
    instrument,
    stream: 'heart-rate',
    unit: 'per-minute',
    side: 'above',
    limit: ageLimit(sustained, years),
    holdSeconds: 60 * sustainedMinutes,
    clearBy: 5,
    priority: 'high',
    action: 'End the exertion: stop the trial, open the ensemble, let the subject cool down and drink.',
    source: `${ageLimits[sustained].title}, ${ageLimits[sustained].source}`,
  };
}
