import { solePort } from '../../../model/rig.ts';
import { blankScatter, removeTrend } from '../../blank-scatter.ts';
import { detectionLimits } from '../../detection-limit.ts';
import { levelRule, readAir } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, photometerOf, stretchOf } from '../reading.ts';
import type { Stretch } from '../reading.ts';
import { figure, verdict } from '../vocabulary.ts';

/** A blank of this many ordinary readings. */
const blankReadings = 6;
/** A detection limit above this share of the nominal challenge hides what a tight ensemble lets in, percent. */
const mostPercent = 0.01;

/** The scatter of filtered air, and the smallest concentration that stands out of it. */
export const detectionLimitCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'detection-limit',
  validDays: 7,
  usesChallenge: false,
  steps: (rig, _, pace) =>
    readAir(rig, 'blank', solePort(rig, 'filtered-air'), levelRule(rig, 0), pace, blankReadings * pace.readSeconds),
  evaluate(record, rig) {
    const photometer = photometerOf(record, rig);
    const unit = photometer?.unit ?? null;
    const blank = stretchOf(record, photometer, 'blank');
    const seconds = blank.atMicroseconds.map((at) => (at - (blank.atMicroseconds[0] ?? 0)) / 1e6);
    const scatter = blankScatter([{ seconds, values: blank.values }], rig.timeConstantSeconds.value);
    // What drifts is no scatter: it is removed first, as from the blanks of a trial.
    const { residuals } = removeTrend({ seconds, values: blank.values }, rig.timeConstantSeconds.value);
    const means = meansOfSeconds({ atMicroseconds: blank.atMicroseconds, values: residuals });
    const limits = means.length < 2 ? null : detectionLimits(means);
    const high = (mostPercent / 100) * rig.challenge.nominal;
    const relative =
      scatter === null || !(scatter.degreesOfFreedom > 0) ? null : 1 / Math.sqrt(2 * scatter.degreesOfFreedom);
    const single = scatter?.standardDeviation ?? null;
    return verdict(
      [
        figure('detection-limit', limits?.detection ?? null, unit, { high }),
        figure('quantitation-limit', limits?.quantitation ?? null, unit),
        figure('deviation', single, unit, {}, single === null || relative === null ? null : single * relative),
      ],
      `Three standard deviations of the mean over 1 s, at most ${mostPercent} % of the nominal challenge.`,
      faultsOf(record, rig),
    );
  },
};

/** Mean of each whole second; the last, broken one is left out. */
function meansOfSeconds({ atMicroseconds, values }: Stretch): number[] {
  const first = atMicroseconds[0] ?? 0;
  const last = atMicroseconds.at(-1) ?? 0;
  const sums: { sum: number; count: number }[] = [];
  for (const [index, at] of atMicroseconds.entries()) {
    const second = Math.floor((at - first) / 1e6);
    const mean = (sums[second] ??= { sum: 0, count: 0 });
    mean.sum += values[index] ?? 0;
    mean.count += 1;
  }
  const whole = Math.floor((last - first) / 1e6);
  return sums.slice(0, whole).flatMap((mean) => (mean === undefined ? [] : [mean.sum / mean.count]));
}
