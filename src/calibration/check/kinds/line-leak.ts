import { probePorts, solePort } from '../../../model/rig.ts';
import { challengeRule, hands, levelRule, readAir } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, readingOf, uncertaintyOfMean } from '../reading.ts';
import { figure, verdict } from '../vocabulary.ts';

/** What a line lets in may be this share of the challenge, percent: a leakage of that size is nobody's ensemble. */
const limitPercent = 0.1;

/** A filter on the probe, challenge around its line: what is read came in on the way. */
export const lineLeakCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'line-leak',
  validDays: 30,
  subjects: (rig) => probePorts(rig).map(({ probe }) => probe),
  steps(rig, subject, pace) {
    const port = probePorts(rig).find(({ probe }) => probe === subject);
    if (port === undefined) throw new RangeError(`the rig has no probe ${subject ?? ''}`);
    return [
      hands('line', 'filter-on-probe', port.probe),
      ...readAir(rig, 'reference', solePort(rig, 'reference'), challengeRule(rig), pace),
      ...readAir(rig, 'zero', solePort(rig, 'filtered-air'), levelRule(rig, 0), pace),
      ...readAir(rig, 'line', port, levelRule(rig, 5), pace),
      hands('end', 'filter-off-probe', port.probe),
    ];
  },
  evaluate(record, rig) {
    const reference = readingOf(record, rig, 'reference');
    const zero = readingOf(record, rig, 'zero');
    const line = readingOf(record, rig, 'line');
    const net = reference === null || zero === null ? null : reference.meanReading - zero.meanReading;
    const known = net !== null && net > 0 && zero !== null && line !== null;
    const percent = known ? (100 * (line.meanReading - zero.meanReading)) / net : null;
    const doubt = known ? (100 * Math.hypot(uncertaintyOfMean(line), uncertaintyOfMean(zero))) / net : null;
    return verdict(
      [figure('leak', percent, 'percent', { low: -limitPercent, high: limitPercent }, doubt)],
      `At most ${limitPercent} % of the challenge comes in on the way. A blocked line passes: look at its dilution.`,
      faultsOf(record, rig),
    );
  },
};
