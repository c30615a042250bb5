import type { Scenario } from '../scenario.ts';
import { demo } from './demo.ts';

const timing = { restSeconds: 7, restZeroSeconds: 2, leadInSeconds: 4, durationSeconds: 39, dwellsPerProbe: 1 };

/** Two exercises in 92 s with a fast photometer, so that a dwell of 7 s settles: for wires in real time. */
export const short: Scenario = {
  ...demo,
  name: 'short',
  title: 'Two exercises for trying out real wires',
  rig: {
    ...demo.rig,
    name: 'Virtual chamber with fast photometer',
    timeConstantSeconds: { value: 0.3, standardUncertainty: 0.009 },
  },
  series: {
    ...demo.series,
    name: 'Two exercises',
    background: { zeroSeconds: 6, dwellSeconds: 5 },
    entry: {
      ...demo.series.entry,
      minimumSeconds: 8,
      maximumSeconds: 60,
      steadyRangePercent: 12,
      steadyWindowSeconds: 4,
    },
    exercises: demo.series.exercises
      .filter((exercise) => exercise.exercise === 'march' || exercise.exercise === 'crawl')
      .map((exercise) => ({ ...exercise, ...timing })),
    closing: { referenceSeconds: 5, zeroSeconds: 6 },
  },
  movements: demo.movements.filter((movement) => movement.exercise === 'march' || movement.exercise === 'crawl'),
};
