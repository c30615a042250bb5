/**
 * Dilution ratio D = (Q_sample + Q_clean)/Q_sample; the true concentration is D times the measured one.
 * @param sampleFlow flow that comes from the probe, @param cleanFlow filtered make-up flow: same unit.
 * @returns ratio, at least 1.
 * @throws RangeError when the sample flow is not positive or the clean flow is negative.
 */
export function dilutionRatio(sampleFlow: number, cleanFlow: number): number {
  if (!(sampleFlow > 0) || !Number.isFinite(sampleFlow))
    throw new RangeError('the sample flow must be greater than zero');
  if (!(cleanFlow >= 0) || !Number.isFinite(cleanFlow)) throw new RangeError('the clean flow must not be negative');
  return (sampleFlow + cleanFlow) / sampleFlow;
}

/**
 * Relative standard uncertainty of the ratio by propagation: (Q_clean/Q_total) · √(u_sample² + u_clean²).
 * @param relativeSample, relativeClean relative standard uncertainties of the two flows (0.01 is 1 %).
 * @throws RangeError as `dilutionRatio`, and for a negative uncertainty.
 */
export function dilutionRelativeUncertainty(
  sampleFlow: number,
  cleanFlow: number,
  relativeSample: number,
  relativeClean: number,
): number {
  if (!(relativeSample >= 0) || !(relativeClean >= 0)) throw new RangeError('an uncertainty must not be negative');
  const ratio = dilutionRatio(sampleFlow, cleanFlow);
  return ((ratio - 1) / ratio) * Math.hypot(relativeSample, relativeClean);
}
