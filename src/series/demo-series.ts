import type { Exercise, Series } from '../model/series.ts';

function block(exercise: string, name: string, instruction: string, cadencePerMinute: number): Exercise {
  return {
    exercise,
    name,
    instruction,
    restSeconds: 30,
    restZeroSeconds: 2,
    leadInSeconds: 20,
    durationSeconds: 110,
    dwellsPerProbe: 1,
    cadencePerMinute,
    workRateWatts: null,
  };
}

/**
 * The series of the demonstration: ten blocks of 30 s rest and 110 s exercise, for a rig whose probes include
 * `hood` and `ankle`. The ankle is expected to leak most and the hood least, so the hood never follows the ankle.
 */
export const demoSeries: Series = {
  name: 'Dust crew, ten blocks',
  version: 1,
  source: 'Made for the demonstration; follows no published series.',
  background: { zeroSeconds: 25, dwellSeconds: 18 },
  entry: {
    minimumSeconds: 240,
    maximumSeconds: 900,
    steadyRangePercent: 12,
    steadyWindowSeconds: 30,
    leastChallengePercent: 50,
  },
  exercises: [
    block('march', 'March on the spot', 'March on the spot, lifting the knees.', 80),
    block('knee-bends', 'Deep knee bends', 'Bend the knees deeply and rise again.', 16),
    block('overhead-reach', 'Overhead reach', 'Reach up with both arms and let them sink.', 20),
    block('trunk-twist', 'Trunk twist', 'Turn the trunk from side to side, arms held out.', 24),
    block('side-bends', 'Side bends', 'Bend to the left and to the right in turn.', 20),
    block('crawl', 'Crawl', 'Crawl on hands and knees, to and fro.', 40),
    block('ladder-step', 'Ladder step', 'Step up and down the first rung, hands on the rails.', 20),
    block('step-slow', 'Stepping, slow', 'Step up and down with the beat.', 13),
    block('step-brisk', 'Stepping, brisk', 'Step up and down with the beat.', 17),
    block('step-fast', 'Stepping, fast', 'Step up and down with the beat.', 21),
  ],
  closing: { referenceSeconds: 28, zeroSeconds: 22 },
  order: { kind: 'rotated', offset: 0, forbidden: [['ankle', 'hood']] },
};
