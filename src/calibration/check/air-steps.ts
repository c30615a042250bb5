import type { Port, Rig } from '../../model/rig.ts';
import type { CheckPace } from './kind.ts';
import type { CheckStep, SettleRule } from './step.ts';

/** Seven time constants: what was before has decayed to e⁻⁷ = 0.09 %. */
const settlingTimeConstants = 7;
/** Air that has not become steady this long after it should have, is not going to, s. */
const patienceSeconds = 60;
/** Of the mean from the first half of a window to the second: share of the nominal challenge. */
const mostChangeOfNominal = 0.0005;

/** From the valve's answer until the photometer shows the air of the port, also after a change at its inlet, s. */
export function settlingSeconds(rig: Rig, port: Port): number {
  return (
    port.transitSeconds.value +
    rig.commonTransitSeconds.value +
    rig.instrumentDelaySeconds.value +
    settlingTimeConstants * rig.timeConstantSeconds.value
  );
}

/** Chamber air that is worth the name. */
export function challengeRule(rig: Rig): SettleRule {
  return { rule: 'challenge', rangePercent: 10, leastMean: rig.challenge.nominal / 2, mostChangePercent: 2 };
}

/** Filtered air, air of a source, air of a probe: a level of its own, which may be nothing. */
export function levelRule(rig: Rig, mostChangePercent: number): SettleRule {
  return { rule: 'level', mostChange: mostChangeOfNominal * rig.challenge.nominal, mostChangePercent };
}

/** The valve goes to a port, and the photometer comes to show its air. */
export function goTo(rig: Rig, part: string, port: Port, settle: SettleRule, pace: CheckPace): CheckStep[] {
  const leastSeconds = settlingSeconds(rig, port);
  const windowSeconds = pace.readSeconds / 2;
  const mostSeconds = leastSeconds + windowSeconds + patienceSeconds;
  return [
    { step: 'select', part, port: port.port },
    { step: 'settle', part, leastSeconds, windowSeconds, mostSeconds, settle },
  ];
}

/** The same, and its air is read. */
export function readAir(
  rig: Rig,
  part: string,
  port: Port,
  settle: SettleRule,
  pace: CheckPace,
  seconds: number = pace.readSeconds,
): CheckStep[] {
  return [...goTo(rig, part, port, settle, pace), { step: 'read', part, seconds }];
}

/** Something that a person does at a port, with nothing to type. */
export function hands(
  part: string,
  ask: Extract<CheckStep, { step: 'ask' }>['ask'],
  probe: string,
  place: string | null = null,
): CheckStep {
  return { step: 'ask', part, ask, probe, place, fields: [] };
}
