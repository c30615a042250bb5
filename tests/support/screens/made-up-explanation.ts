import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainCell } from '../../../src/leakage/explain.ts';
import type { Explanation } from '../../../src/leakage/explanation.ts';
import { syntheticTrial } from '../synthetic-trial.ts';
import { result } from './made-up.ts';

/** Probes of the computed trial that stand for those of the made-up one. */
const standIns: Readonly<Record<string, string>> = { 'lower-back': 'back' };

const record = (() => {
  const { record: whole } = syntheticTrial({ noise: 4e-5, dwellsPerProbe: 2 });
  // The ankle of the second exercise is cut short of some readings, as its flags in the made-up result say.
  const lost = whole.events.find(
    (event) =>
      event.kind === 'dwell-began' && event.dwell.exercise === 'exercise-2' && event.dwell.probe === 'ankle',
  );
  const from = (lost?.atMicroseconds ?? 0) + 9e6;
  return {
    ...whole,
    streams: whole.streams.map((stream) => {
      const keep = [...stream.atMicroseconds].map((at) => at < from || at >= from + 3e6);
      return {
        ...stream,
        atMicroseconds: stream.atMicroseconds.filter((_, index) => keep[index]),
        values: stream.values.filter((_, index) => keep[index]),
      };
    }),
  };
})();

/** An explanation with every step, computed from another trial and named like a cell of the made-up result. */
export function explanationAt(exercise: string, probe: string): Explanation {
  const column = result.exercises.findIndex((one) => one.exercise === exercise);
  const place = { exercise: `exercise-${(Math.max(0, column) % 3) + 1}`, probe: standIns[probe] ?? probe };
  return { ...explainCell(record, firstMethod, place), exercise, probe };
}
