import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { residualImbalance } from '../../series/rotation-plan.ts';
import { williamsSquares } from '../../series/williams.ts';
import { outsideValidity } from '../validity.ts';
import type { StudyDesign } from './scatter.ts';

export interface AllocationRequest {
  /** Names, each once, in any order. */
  readonly ensembles: readonly string[];
  readonly subjects: number;
  /** Of one subject in one ensemble. */
  readonly trials: number;
  readonly design: StudyDesign;
  /** A whole number from 0 to 2 147 483 647: the same seed gives the same allocation everywhere. */
  readonly seed: number;
}

/** Which subject wears which ensemble in which order. */
export interface Allocation {
  /** `S01`, `S02` …, each with the ensembles in the order in which they are worn. */
  readonly subjects: readonly { readonly subject: string; readonly order: readonly string[] }[];
  /** `worn[ensemble][position]`: how many subjects wear it there. */
  readonly worn: readonly (readonly number[])[];
  /**
   * Residual imbalance, the share of counts that would have to be moved: 0 is balanced. Of ensembles over positions,
   * and of ordered pairs of different ensembles worn one after the other in one pass; null where there are none.
   */
  readonly positionImbalance: number;
  readonly neighbourImbalance: number | null;
}

/**
 * Crossed: rows of Williams squares (every ensemble in every position, every ordered pair of neighbours, equally often)
 * in random order within each square, under randomly given names; one pass for each trial. Balanced for position
 * after every t subjects and for neighbours after t, or after 2 t where t is odd. Separate: permuted blocks, in which
 * each ensemble stands once.
 * @throws ChambersideError `outside-validity` for names that are not different, numbers that are not whole or too many.
 */
export function allocate(request: AllocationRequest): Allocation {
  const { ensembles, subjects, trials, design, seed } = request;
  refuse(request);
  const generator = xoroshiro128plus(seed);
  const shuffled = <Item>(items: readonly Item[]): Item[] => {
    const all = [...items];
    for (let last = all.length - 1; last > 0; last -= 1) {
      const other = Math.floor(uniformFloat64(generator) * (last + 1));
      [all[last], all[other]] = [all[other] as Item, all[last] as Item];
    }
    return all;
  };
  const names = shuffled(ensembles);
  const squares = williamsSquares(ensembles.length);
  const draw = (blocks: readonly (readonly (readonly number[])[])[]): (readonly number[])[] => {
    const rows: (readonly number[])[] = [];
    while (rows.length < subjects) for (const block of shuffled(blocks)) rows.push(...shuffled(block));
    return rows.slice(0, subjects);
  };
  const passes =
    design === 'crossed'
      ? Array.from({ length: trials }, () => draw(squares))
      : [draw([names.map((_, index) => Array.from({ length: trials }, () => index))])];
  const orders = Array.from({ length: subjects }, (_, subject) =>
    passes.flatMap((rows) => (rows[subject] ?? []).map((index) => names[index] ?? '')),
  );
  const length = orders[0]?.length ?? 0;
  const worn = ensembles.map((ensemble) =>
    Array.from({ length }, (_, position) => orders.filter((order) => order[position] === ensemble).length),
  );
  const digits = Math.max(2, String(subjects).length);
  return {
    subjects: orders.map((order, index) => ({ subject: `S${String(index + 1).padStart(digits, '0')}`, order })),
    worn,
    positionImbalance: residualImbalance(worn.flat()),
    neighbourImbalance: design === 'crossed' && ensembles.length > 1 ? neighbours(orders, ensembles) : null,
  };
}

/** Within a pass: from one to the next the same ensemble may be worn twice. */
function neighbours(orders: readonly (readonly string[])[], ensembles: readonly string[]): number {
  const counts = new Map<string, number>();
  for (const before of ensembles) {
    for (const after of ensembles) if (before !== after) counts.set(JSON.stringify([before, after]), 0);
  }
  for (const order of orders) {
    for (const [index, after] of order.entries()) {
      if (index % ensembles.length === 0) continue;
      const pair = JSON.stringify([order[index - 1], after]);
      counts.set(pair, (counts.get(pair) ?? 0) + 1);
    }
  }
  return residualImbalance([...counts.values()]);
}

function refuse({ ensembles, subjects, trials, seed }: AllocationRequest): void {
  const statistic = 'allocation';
  if (ensembles.length < 1 || new Set(ensembles).size < ensembles.length || ensembles.some((one) => one === '')) {
    throw outsideValidity('names of ensembles are missing or twice there', statistic, 'Give each a name of its own.');
  }
  const whole = (value: number, most: number, least: number): boolean =>
    Number.isInteger(value) && value >= least && value <= most;
  if (!whole(ensembles.length, 20, 1) || !whole(subjects, 1000, 1) || !whole(trials, 20, 1)) {
    const what = `${ensembles.length} ensembles, ${subjects} subjects, ${trials} trials of each`;
    throw outsideValidity(what, statistic, 'At most 20 ensembles, 1000 subjects and 20 trials; whole numbers from 1.');
  }
  if (!whole(seed, 2_147_483_647, 0)) {
    throw outsideValidity(`a seed of ${seed}`, statistic, 'Give a whole number from 0 to 2147483647.');
  }
}
