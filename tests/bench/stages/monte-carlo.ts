import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { assessWithWorkings } from '../../../src/leakage/assess.ts';
import { drawResult } from '../../../src/leakage/budget/monte-carlo.ts';
import type { WeightedPart } from '../../../src/leakage/budget/monte-carlo.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';
import type { Stage } from '../stage.ts';
import { timed } from '../stage.ts';

const draws = { full: 1_000_000, tiny: 1_000 } as const;

/**
 * The Monte Carlo check of one cell's budget. Floor: as many normal numbers from the same generator, added up to as
 * many results, and these sorted. Product: `drawResult` with the inputs of a real cell.
 */
export const monteCarlo: Stage = {
  name: 'monte-carlo',
  unit: 'ms a million draws',
  target: 2,
  rounds: { full: 7, tiny: 1 },
  warmUps: 1,
  begin(size) {
    const { cells, freedom } = assessWithWorkings(syntheticTrial({ exercises: 4 }).record, firstMethod);
    const parts = (cells[0]?.parts ?? []).flatMap(({ budget }): WeightedPart[] =>
      budget === null ? [] : [{ weight: 1, model: budget.model }],
    );
    const inputs = new Set(
      parts.flatMap(({ model }) =>
        [...model.above, ...model.below, ...model.factors]
          .filter(({ standardUncertainty }) => standardUncertainty > 0)
          .map(({ input }) => input),
      ),
    );
    const count = draws[size];
    return {
      floor: () => timed(() => void bare(count, inputs.size)),
      product: () => timed(() => void drawResult(parts, freedom, count, 1)),
      end: () => undefined,
    };
  },
};

function bare(count: number, inputs: number): Float64Array {
  const generator = xoroshiro128plus(1);
  const uniform = (): number => ((generator.next() >>> 0) + 0.5) / 2_147_483_648 - 1;
  const results = new Float64Array(count);
  let spare: number | null = null;
  for (let draw = 0; draw < count; draw += 1) {
    let sum = 0;
    for (let input = 0; input < inputs; input += 1) {
      if (spare !== null) {
        sum += spare;
        spare = null;
        continue;
      }
      for (;;) {
        const x = uniform();
        const y = uniform();
        const square = x * x + y * y;
        if (square >= 1) continue;
        const factor = Math.sqrt((-2 * Math.log(square)) / square);
        sum += x * factor;
        spare = y * factor;
        break;
      }
    }
    results[draw] = sum;
  }
  return results.sort();
}
