import type { Rig } from '../../model/rig.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import { contactsOf } from '../../safety/contacts.ts';
import type { SafetyLimits } from '../../safety/limits.ts';

/** The alarm clears when the heart rate has come down by this much below its limit, per minute. */
const clearBelow = 5;
/** The alarm for lost contact clears after readings without a loss for this long, s. */
const contactClearSeconds = 5;

/**
 * What a trial on this rig is watched for. Of the limit that the plan sets and the highest rate that the belt is
 * trusted with, the stricter counts.
 * @param planned highest heart rate of the plan, per minute; null when the plan sets none.
 */
export function watchedLimits(
  rig: Rig,
  streams: readonly StreamDescriptor[],
  planned: number | null,
): Omit<SafetyLimits, 'streams'> {
  const highest = strictestHeartRate(rig, streams, planned);
  const always = { contacts: contactsOf(rig, streams), contactClearSeconds };
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
