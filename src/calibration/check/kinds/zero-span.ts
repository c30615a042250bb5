import type { Rig } from '../../../model/rig.ts';
import { solePort } from '../../../model/rig.ts';
import { checkLimits } from '../../rig-check.ts';
import { challengeRule, levelRule, readAir } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, photometerOf, readingOf, uncertaintyOfMean } from '../reading.ts';
import type { CheckRecord } from '../step.ts';
import { figure, verdict } from '../vocabulary.ts';
import type { CheckVerdict } from '../vocabulary.ts';

/** Filtered air: what the photometer reads when there is nothing. */
export const zeroCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'zero',
  validDays: 1,
  usesChallenge: false,
  steps: (rig, _, pace) => readAir(rig, 'zero', solePort(rig, 'filtered-air'), levelRule(rig, 0), pace),
  evaluate: (record, rig) => evaluateMean(record, rig, 'zero'),
};

/** Chamber air: what the photometer reads of the challenge. */
export const spanCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'span',
  validDays: 1,
  steps: (rig, _, pace) => readAir(rig, 'span', solePort(rig, 'reference'), challengeRule(rig), pace),
  evaluate: (record, rig) => evaluateMean(record, rig, 'span'),
};

function evaluateMean(record: CheckRecord, rig: Rig, part: 'zero' | 'span'): CheckVerdict {
  const limits = checkLimits(part, rig);
  const unit = photometerOf(record, rig)?.unit ?? null;
  const reading = readingOf(record, rig, part);
  return verdict(
    [
      figure(
        'mean',
        reading?.meanReading ?? null,
        unit,
        { low: limits.lowLimit, high: limits.highLimit },
        reading === null ? null : uncertaintyOfMean(reading),
      ),
      figure('deviation', reading?.deviationReading ?? null, unit),
    ],
    `Limit: ${limits.text}.`,
    faultsOf(record, rig),
  );
}
