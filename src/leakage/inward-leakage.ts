import type { Method } from '../model/method.ts';
import type { Port, Rig, Stated } from '../model/rig.ts';

/** Factors of one port against the reference port, as a method applies them; 1 where it does not. */
export interface LeakageFactors {
  readonly dilution: number;
  readonly penetration: number;
  readonly referenceDilution: number;
  readonly referencePenetration: number;
  readonly spatialFactor: number;
  /** Response of the photometer inside divided by that in the chamber; absent: no certificate states it. */
  readonly linearity?: number;
}

/** @param linearity by certificate: a property of the photometer, which every method corrects for. */
export function leakageFactors(
  rig: Rig,
  method: Method,
  port: Port,
  reference: Port,
  linearity?: Stated,
): LeakageFactors {
  return {
    dilution: method.applyDilution ? port.dilution.value : 1,
    penetration: method.applyPenetration ? port.penetration.value : 1,
    referenceDilution: method.applyDilution ? reference.dilution.value : 1,
    referencePenetration: method.applyPenetration ? reference.penetration.value : 1,
    spatialFactor: method.applySpatialFactor ? rig.spatialFactor.value : 1,
    ...(linearity === undefined ? {} : { linearity: linearity.value }),
  };
}

/**
 * Percent of the challenge at the subject's place for one unit of net probe reading:
 *
 *     100 · (D/P) / (F · (S − Z) · D_ref/P_ref)
 *
 * and where a certificate states the linearity L of the photometer, divided by L, for a probe in the breathing zone
 * times (t_in + t_ex)/t_in.
 * S is the chamber reference, so (S − Z) carries sensitivity and challenge at once: the challenge step is the
 * spatial factor alone, and dividing by a challenge made from the same dwells would count it twice.
 * @param spanNet S − Z, as a reading. @param breathing that factor; 1 for a probe elsewhere.
 * @returns null unless spanNet is above zero.
 */
export function percentPerReading(spanNet: number, factors: LeakageFactors, breathing = 1): number | null {
  if (!(spanNet > 0)) return null;
  const probe = factors.dilution / factors.penetration;
  const challenge = (factors.spatialFactor * spanNet * factors.referenceDilution) / factors.referencePenetration;
  const percent = (100 * probe) / challenge;
  return breathing * (factors.linearity === undefined ? percent : percent / factors.linearity);
}

/**
 * (R − Z) − B: R is the corrected mean of the window, Z the zero at its middle, B the probe's net background reading,
 * which passed the same line and the same dilution.
 */
export function netReading(reading: number, zero: number, backgroundNet: number): number {
  return reading - zero - backgroundNet;
}

/** Inward leakage, percent: ((R − Z) − B) · percentPerReading. Sign kept. */
export function inwardLeakagePercent(
  reading: number,
  zero: number,
  backgroundNet: number,
  percentOfUnit: number,
): number {
  return netReading(reading, zero, backgroundNet) * percentOfUnit;
}
