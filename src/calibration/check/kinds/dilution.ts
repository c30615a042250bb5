import type { Port, Rig, Stated } from '../../../model/rig.ts';
import { probePorts, solePort } from '../../../model/rig.ts';
import { challengeRule, hands, levelRule, readAir } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, photometerOf, stepOf, stretchOf } from '../reading.ts';
import type { CheckRecord, CheckStep } from '../step.ts';
import { figure, verdict } from '../vocabulary.ts';

/** Readings of the probe, each between two of the reference. */
const repeats = 3;
/** The ratio may lie this far from the stated one, or three of its standard uncertainties, percent. */
const limitPercent = 5;
/** Less than this share of the reference, and nothing comes through the line, percent. */
const nothingPercent = 0.5;

/** The probe hangs beside the reference point: how much thinner is its air when it reaches the photometer. */
export const dilutionCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'dilution',
  validDays: 180,
  subjects: (rig) => probePorts(rig).map(({ probe }) => probe),
  steps(rig, subject, pace) {
    const port = portOf(rig, subject);
    const reference = solePort(rig, 'reference');
    const steps: CheckStep[] = readAir(rig, 'zero', solePort(rig, 'filtered-air'), levelRule(rig, 0), pace);
    steps.push(hands('probe', 'probe-in-chamber', port.probe));
    steps.push(...readAir(rig, 'reference-0', reference, challengeRule(rig), pace));
    for (let repeat = 1; repeat <= repeats; repeat += 1) {
      // Thin air may be thin because of the diluter: it has to be steady, not strong.
      steps.push(...readAir(rig, `probe-${repeat}`, port, levelRule(rig, 5), pace));
      steps.push(...readAir(rig, `reference-${repeat}`, reference, challengeRule(rig), pace));
    }
    steps.push(hands('end', 'probe-back', port.probe));
    return steps;
  },
  evaluate(record, rig) {
    const port = portOf(rig, record.subject);
    const faults = faultsOf(record, rig);
    const { ratios, sharePercent } = ratiosOf(record, rig);
    if (sharePercent !== null && sharePercent < nothingPercent) {
      faults.unshift(`Nothing comes through the line of ${port.label}: is it blocked?`);
    }
    const through = sharePercent !== null && sharePercent >= nothingPercent && ratios.length === repeats;
    const found = through ? dilutionFrom(ratios, rig, port) : null;
    const limit = Math.max((limitPercent / 100) * port.dilution.value, 3 * port.dilution.standardUncertainty);
    return verdict(
      [
        figure(
          'dilution',
          found?.value ?? null,
          'one',
          { low: port.dilution.value - limit, high: port.dilution.value + limit },
          found?.standardUncertainty ?? null,
        ),
        figure('share-of-reference', sharePercent, 'percent', { low: nothingPercent }),
      ],
      `Limit: ${port.dilution.value} as the rig says, within ${limitPercent} % or three of its standard uncertainties.`,
      faults,
    );
  },
};

function portOf(rig: Rig, subject: string | null): Port {
  const port = probePorts(rig).find(({ probe }) => probe === subject);
  if (port === undefined) throw new RangeError(`the rig has no probe ${subject ?? ''}`);
  return port;
}

/** Reference against probe, each net of filtered air, the reference taken where the probe was read. */
function ratiosOf(record: CheckRecord, rig: Rig): { ratios: number[]; sharePercent: number | null } {
  const photometer = photometerOf(record, rig);
  const mean = (part: string): { value: number; at: number } | null => {
    const { values } = stretchOf(record, photometer, part);
    const step = stepOf(record, part, 'read');
    if (values.length === 0 || step === null) return null;
    const value = values.reduce((sum, one) => sum + one, 0) / values.length;
    return { value, at: (step.beganAtMicroseconds + step.endedAtMicroseconds) / 2 };
  };
  const zero = mean('zero');
  const ratios: number[] = [];
  const shares: number[] = [];
  for (let repeat = 1; repeat <= repeats; repeat += 1) {
    const before = mean(`reference-${repeat - 1}`);
    const probe = mean(`probe-${repeat}`);
    const after = mean(`reference-${repeat}`);
    if (zero === null || before === null || probe === null || after === null) continue;
    const weight = (probe.at - before.at) / (after.at - before.at);
    const reference = (1 - weight) * before.value + weight * after.value - zero.value;
    if (!(reference > 0)) continue;
    shares.push((100 * (probe.value - zero.value)) / reference);
    ratios.push(reference / (probe.value - zero.value));
  }
  const sharePercent = shares.length === 0 ? null : shares.reduce((sum, share) => sum + share, 0) / shares.length;
  return { ratios, sharePercent };
}

/** Dilution of the probe's line: what its line loses and what the reference line does to the air are not dilution. */
function dilutionFrom(ratios: readonly number[], rig: Rig, port: Port): Stated {
  const reference = solePort(rig, 'reference');
  const mean = ratios.reduce((sum, ratio) => sum + ratio, 0) / ratios.length;
  const squares = ratios.reduce((sum, ratio) => sum + (ratio - mean) ** 2, 0);
  const value = (mean * port.penetration.value * reference.dilution.value) / reference.penetration.value;
  const relative = ({ standardUncertainty, value: of }: Stated): number => standardUncertainty / of;
  const standardUncertainty =
    value *
    Math.hypot(
      Math.sqrt(squares / (ratios.length - 1) / ratios.length) / mean,
      relative(port.penetration),
      relative(reference.penetration),
      relative(reference.dilution),
    );
  return { value, standardUncertainty };
}
