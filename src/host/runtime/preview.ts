import type { Plan } from '../../bridge/contract.ts';
import type { PlanPreview } from '../../bridge/result.ts';
import { checkName } from '../../calibration/check/names.ts';
import { standingsOf } from '../../calibration/check/standing.ts';
import type { KeptCheck } from '../../calibration/check/standing.ts';
import { methodForRig, usableOptions } from '../../leakage/method-for-rig.ts';
import { doubtfulCertificates } from '../../model/certificate.ts';
import type { SupportingCertificate } from '../../model/certificate.ts';
import type { Method } from '../../model/method.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { toSeconds } from '../../model/time.ts';
import { compileSchedule } from '../../series/compile.ts';
import type { Schedule } from '../../series/schedule.ts';
import { remarkWords } from '../../series/remark-words.ts';
import { seriesRemarks } from '../../series/remarks.ts';
import { timetable } from '../../series/timetable.ts';
import { predictUsableSeconds } from '../../series/usable.ts';
import { watchedLines } from './limits.ts';
import { refusal } from './refusal.ts';

/** A plan, compiled for a rig. */
export interface CompiledPlan {
  /** As it will be frozen: with the row of the rotation that was chosen. */
  readonly series: Series;
  readonly schedule: Schedule;
  readonly method: Method;
}

/**
 * @throws ChambersideError `action-refused` when the series is not offered or the rig has a belt and no limit is
 *   set, `schedule-impossible`.
 */
export function compilePlan(plan: Plan, rig: Rig, offered: readonly Series[]): CompiledPlan {
  const { name, version } = plan.series;
  const found = offered.find((series) => series.name === name && series.version === version);
  if (found === undefined) {
    throw refusal(`there is no series ${name}, version ${version}`, 'series', 'Choose one that is offered.');
  }
  if (rig.heartRate !== null && plan.heartRateLimit === null && plan.heartByAge === null) {
    const remedy = 'Set one, or give the age: the rig has a belt.';
    throw refusal('no limit of the heart rate is set', 'heartRateLimit', remedy);
  }
  const series = { ...found, order: { ...found.order, offset: plan.orderOffset } };
  return { series, schedule: compileSchedule(series, rig), method: methodForRig(rig) };
}

/**
 * What the plan would be, with everything worth knowing before the start. Pure.
 * @param checks newest of each check of this rig. @param nowMilliseconds wall clock, since 1970.
 * @param certificates of what works in it, as they stand.
 */
export function previewPlan(
  compiled: CompiledPlan,
  plan: Plan,
  rig: Rig,
  checks: readonly KeptCheck[],
  nowMilliseconds: number,
  certificates: readonly SupportingCertificate[] = [],
): PlanPreview {
  const { method, schedule, series } = compiled;
  const options = usableOptions(method);
  const usable = predictUsableSeconds(schedule, rig, options);
  return {
    durationSeconds: toSeconds(schedule.durationMicroseconds),
    exercises: timetable(series, schedule, usable),
    watched: watchedLines(plan, rig),
    warnings: [
      ...seriesRemarks(series, rig, options).map(remarkWords),
      ...warningsOfChecks(rig, checks, nowMilliseconds),
      ...doubtfulCertificates(certificates).map(warningOfCertificate),
    ],
  };
}

/** Checks that a trial on this rig would rest on, and should not. */
function warningsOfChecks(rig: Rig, checks: readonly KeptCheck[], nowMilliseconds: number): string[] {
  return standingsOf(rig, checks, nowMilliseconds).flatMap(({ check, dueAt, newest, standing, subject }) => {
    const name = checkName(check, subject, rig);
    if (standing === 'never' && (check === 'zero' || check === 'span')) {
      return [`The ${name} of this rig has not been checked.`];
    }
    if (standing === 'failed') return [`The last check of the ${name} failed: ${newest?.result.detail ?? ''}`];
    if (standing === 'overdue' && dueAt !== null) {
      return [`The check of the ${name} is overdue since ${new Date(dueAt).toISOString().slice(0, 10)}.`];
    }
    return [];
  });
}

/** A certificate that a trial would rest on, and should not. */
function warningOfCertificate({ certificate, instrument, kind }: SupportingCertificate): string {
  if (certificate === null) return `${instrument}, the ${kind.replaceAll('-', ' ')} of this rig, has no certificate.`;
  const { number, quantity, validUntil } = certificate;
  return `Certificate ${number} of ${instrument} (${quantity.replaceAll('-', ' ')}) ended with ${validUntil}.`;
}
