import { probePorts, solePort } from '../../../model/rig.ts';
import { uniformity } from '../../uniformity.ts';
import type { GridReading, Uniformity } from '../../uniformity.ts';
import { challengeRule, hands, levelRule, readAir } from '../air-steps.ts';
import { ofTheAir } from '../kind.ts';
import type { CheckDefinition } from '../kind.ts';
import { faultsOf, readingOf } from '../reading.ts';
import type { CheckRecord, CheckStep } from '../step.ts';
import type { Rig } from '../../../model/rig.ts';
import { figure, verdict } from '../vocabulary.ts';

/** Of the mean over the places, percent: accepted by common practice. */
const limitPercent = 10;

/** Where the head is hung: three heights, each left, in the middle and right of where the subject works. */
export const gridPlaces: readonly Omit<GridReading, 'value'>[] = [
  ['low', 0.5],
  ['middle', 1.1],
  ['high', 1.7],
].flatMap(([height, zMetres]) =>
  [
    ['left', -0.4],
    ['centre', 0],
    ['right', 0.4],
  ].map(([side, xMetres]) => ({
    place: `${height}-${side}`,
    xMetres: Number(xMetres),
    yMetres: 0,
    zMetres: Number(zMetres),
  })),
);

/** One probe hangs at every place of a grid in turn, and after each the reference is read. */
export const uniformityCheck: CheckDefinition = {
  ...ofTheAir,
  check: 'uniformity',
  validDays: 90,
  steps(rig, _, pace) {
    const [head] = probePorts(rig);
    if (head === undefined) throw new RangeError('the rig has no probe');
    const reference = solePort(rig, 'reference');
    const steps: CheckStep[] = [
      ...readAir(rig, 'zero', solePort(rig, 'filtered-air'), levelRule(rig, 0), pace),
      ...readAir(rig, 'reference-0', reference, challengeRule(rig), pace),
    ];
    for (const [index, { place }] of gridPlaces.entries()) {
      steps.push(hands(place, 'head-at-place', head.probe, place));
      steps.push(...readAir(rig, place, head, levelRule(rig, 5), pace));
      steps.push(...readAir(rig, `reference-${index + 1}`, reference, challengeRule(rig), pace));
    }
    steps.push(hands('end', 'head-back', head.probe));
    return steps;
  },
  evaluate(record, rig) {
    const faults = faultsOf(record, rig);
    let found: Uniformity | null = null;
    try {
      found = uniformity(gridReadings(record, rig));
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      faults.push(`No map can be drawn: ${error.message}.`);
    }
    const deviations = found?.map ?? [];
    return verdict(
      [
        figure('variation', found?.variationPercent ?? null, 'percent', { high: limitPercent }),
        ...gridPlaces.map(({ place }) =>
          figure(
            `deviation ${place}`,
            deviations.find((one) => one.place === place)?.deviationPercent ?? null,
            'percent',
            { low: -limitPercent, high: limitPercent },
          ),
        ),
      ],
      `No place further from the mean than ${limitPercent} %, and no greater variation. Common practice.`,
      faults,
    );
  },
};

/** Every place against the reference before and after it, so that a challenge that wanders is no unevenness. */
function gridReadings(record: CheckRecord, rig: Rig): GridReading[] {
  const zero = readingOf(record, rig, 'zero')?.meanReading ?? Number.NaN;
  return gridPlaces.flatMap((place, index) => {
    const at = readingOf(record, rig, place.place);
    const before = readingOf(record, rig, `reference-${index}`);
    const after = readingOf(record, rig, `reference-${index + 1}`);
    if (at === null || before === null || after === null) return [];
    const reference = (before.meanReading + after.meanReading) / 2 - zero;
    return [{ ...place, value: (at.meanReading - zero) / reference }];
  });
}
