import type { Rig } from '../../../model/rig.ts';
import { solePort } from '../../../model/rig.ts';
import { linearity, linearityLimitPercent } from '../../linearity.ts';
import type { LevelReading, Linearity } from '../../linearity.ts';
import { spanLimitPercent, zeroLimitPercent } from '../../rig-check.ts';
import { hands, levelRule, readAir } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, photometerOf, readingOf, stepOf } from '../reading.ts';
import type { CheckRecord, CheckStep } from '../step.ts';
import { figure, verdict } from '../vocabulary.ts';

/** Of the nominal challenge, percent; filtered air is the sixth level. */
const levelsPercent = [20, 40, 60, 80, 100];
/** A source drifts: its level counts as steady within this, percent from half a window to the other. */
const sourceChangePercent = 2;

/** Levels of a calibration source at the reference port against what the photometer reads. */
export const linearityCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'linearity',
  validDays: 90,
  usesChallenge: false,
  steps(rig, _, pace) {
    const port = solePort(rig, 'reference');
    const steps: CheckStep[] = readAir(rig, 'zero', solePort(rig, 'filtered-air'), levelRule(rig, 0), pace);
    for (const [index, percent] of levelsPercent.entries()) {
      const part = `level-${index + 1}`;
      const concentration = {
        field: 'concentration',
        kind: 'number',
        unit: null,
        proposed: Number(((percent / 100) * rig.challenge.nominal).toPrecision(6)),
        low: 0,
        high: 10 * rig.challenge.nominal,
      } as const;
      steps.push({ ...hands(part, 'source-level', port.probe), fields: [concentration] } as CheckStep);
      steps.push(...readAir(rig, part, port, levelRule(rig, sourceChangePercent), pace));
    }
    steps.push(hands('end', 'source-away', port.probe));
    return steps;
  },
  evaluate(record, rig) {
    const unit = photometerOf(record, rig)?.unit ?? null;
    const faults = faultsOf(record, rig);
    let line: Linearity | null = null;
    try {
      line = linearity(levelsOf(record, rig));
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      faults.push(`No line can be drawn: ${error.message}.`);
    }
    const most = (zeroLimitPercent / 100) * rig.challenge.nominal;
    return verdict(
      [
        figure('largest-residual', line?.largestPercent ?? null, 'percent', { high: linearityLimitPercent }),
        figure('slope', line?.slope ?? null, 'one', {
          low: 1 - spanLimitPercent / 100,
          high: 1 + spanLimitPercent / 100,
        }),
        figure('intercept', line?.intercept ?? null, unit, { low: -most, high: most }),
      ],
      `No level further from the line than ${linearityLimitPercent} % of the span.`,
      faults,
    );
  },
};

/** Known concentration behind the reference line, and what was read: filtered air first. Others are left out. */
export function levelsOf(record: CheckRecord, rig: Rig): LevelReading[] {
  const port = solePort(rig, 'reference');
  const gain = port.penetration.value / port.dilution.value;
  const levels: LevelReading[] = [];
  const zero = readingOf(record, rig, 'zero');
  if (zero !== null) levels.push({ concentration: 0, reading: zero.meanReading });
  for (const index of levelsPercent.keys()) {
    const part = `level-${index + 1}`;
    const known = stepOf(record, part, 'ask')?.answers['concentration'];
    const reading = readingOf(record, rig, part);
    if (known === undefined || reading === null) continue;
    levels.push({ concentration: gain * known, reading: reading.meanReading });
  }
  return levels;
}
