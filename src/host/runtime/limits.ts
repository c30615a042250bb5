import type { Plan } from '../../bridge/contract.ts';
import type { Rig } from '../../model/rig.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import type { WatchedLimit } from '../../model/watched-limit.ts';
import { contactsOf } from '../../safety/contacts.ts';
import { heartLimitFrom, plannedHeartLimit, sustainedStrain } from '../../safety/heart-limits.ts';
import type { SafetyLimits } from '../../safety/limits.ts';
import { beyondText, limitsWithoutStream } from '../../safety/watched-limits.ts';
import { refusal } from './refusal.ts';

/** The alarm clears when the heart rate has come down by this much below its limit, per minute. */
const clearBelow = 5;
/** The alarm for lost contact clears after readings without a loss for this long, s. */
const contactClearSeconds = 5;

/**
 * What a trial on this rig is watched for. Of the limit that the plan sets and the highest rate that the belt is
 * trusted with, the stricter counts.
 * @param planned limits of the plan, as they were frozen with the trial.
 */
export function watchedLimits(
  rig: Rig,
  streams: readonly StreamDescriptor[],
  planned: Pick<TrialHeader, 'heartRateLimit' | 'watch'>,
): Omit<SafetyLimits, 'streams'> {
  const highest = strictestHeartRate(rig, streams, planned.heartRateLimit ?? null);
  const watched = [...(rig.watch ?? []), ...(planned.watch ?? [])];
  const always = { watched, contacts: contactsOf(rig, streams), contactClearSeconds };
  if (rig.heartRate === null || highest === null) return { heartRate: null, ...always };
  return { heartRate: { instrument: rig.heartRate, stream: 'heart-rate', highest, clearBelow }, ...always };
}

/** The stricter of the plan's limit and the belt's highest plausible rate, per minute; null without any. */
export function strictestHeartRate(
  rig: Rig,
  streams: readonly StreamDescriptor[],
  planned: number | null,
): number | null {
  if (rig.heartRate === null) return null;
  const belt = streams.find((each) => each.instrument === rig.heartRate && each.stream === 'heart-rate');
  const limits = [planned, belt?.plausibleHigh ?? null].filter((limit) => limit !== null);
  return limits.length === 0 ? null : Math.min(...limits);
}

/** Limits of the heart rate as they are frozen with the trial. */
export function heartOf({ heartByAge, heartRateLimit }: Plan, belt: string | null): Partial<TrialHeader> {
  const limit = plannedHeartLimit(heartRateLimit, heartByAge);
  if (limit === null || belt === null) return {};
  const from = heartLimitFrom(heartRateLimit, heartByAge);
  const strain = heartByAge === null ? null : sustainedStrain(belt, heartByAge);
  return {
    heartRateLimit: limit,
    ...(from === null ? {} : { heartRateLimitFrom: from }),
    ...(strain === null ? {} : { watch: [strain] }),
  };
}

/**
 * Limits that a repeat takes over from the trial that it repeats, for the rig as it is now: those of the heart rate are
 * watched on its belt, whatever it is called today, and are dropped where it has none, as with a plan.
 * @throws ChambersideError `action-refused` where the rig has a belt and the earlier trial no limit for it, and for a
 *   limit whose stream is not there: it would be said and never watched.
 */
export function repeatedLimits(
  { heartRateLimit, heartRateLimitFrom, watch }: Pick<TrialHeader, 'heartRateLimit' | 'heartRateLimitFrom' | 'watch'>,
  rig: Rig,
  streams: readonly StreamDescriptor[],
): Partial<TrialHeader> {
  const belt = rig.heartRate;
  const remedy = 'Plan it as a new trial: the plan sets the limits for this rig.';
  if (belt !== null && heartRateLimit === undefined) {
    const what = 'the rig has a belt, and the earlier trial no limit of the heart rate';
    throw refusal(what, 'heartRateLimit', remedy);
  }
  const watched = (watch ?? []).flatMap((limit) => {
    if (limit.stream !== 'heart-rate') return [limit];
    return belt === null ? [] : [{ ...limit, instrument: belt }];
  });
  const [wrong] = limitsWithoutStream(watched, streams);
  if (wrong !== undefined) throw refusal(`${wrong.limit.title} would not be watched: ${wrong.why}`, rig.name, remedy);
  return {
    ...(belt === null || heartRateLimit === undefined ? {} : { heartRateLimit }),
    ...(belt === null || heartRateLimitFrom === undefined ? {} : { heartRateLimitFrom }),
    ...(watched.length === 0 ? {} : { watch: watched }),
  };
}

/** What a trial of this plan will be watched for besides silence, a line each. */
export function watchedLines(plan: Plan, rig: Rig): string[] {
  const { heartRateLimit, heartRateLimitFrom, watch } = heartOf(plan, rig.heartRate);
  const from = heartRateLimitFrom === undefined ? '' : `: ${heartRateLimitFrom}`;
  return [
    ...(heartRateLimit === undefined ? [] : [`Heart rate above ${heartRateLimit}/min${from}.`]),
    ...[...(watch ?? []), ...(rig.watch ?? [])].map(limitLine),
  ];
}

/** `Fan flow low: fan-flow below 120 L/min for 10 s.` */
function limitLine(limit: WatchedLimit): string {
  return `${limit.title}: ${limit.stream.replaceAll('-', ' ')} ${beyondText(limit)}.`;
}
