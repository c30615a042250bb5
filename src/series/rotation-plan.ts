import { rotatePorts } from './rotation.ts';
import type { Rotation, RotationRequest } from './rotation.ts';

/** Which row of the rotation each subject begins with, and what imbalance is left over all of them. */
export interface RotationPlan {
  /** `order.offset` of the first, second, … subject. */
  readonly offsets: readonly number[];
  /** Residual imbalance of probes over positions, share of the dwells. */
  readonly positions: number;
  /** The same of ordered pairs of neighbours, of those that are allowed. */
  readonly neighbours: number;
  /** `counts[probe][position]` over all subjects and exercises. */
  readonly counts: readonly (readonly number[])[];
}

/**
 * Residual imbalance: the share of all counts that would have to be moved to make every cell the same,
 * Σ|n − n̄| / (2 Σ n). 0 is balanced; it stays below 1.
 */
export function residualImbalance(counts: readonly number[]): number {
  let sum = 0;
  for (const count of counts) sum += count;
  if (sum === 0) return 0;
  const mean = sum / counts.length;
  let apart = 0;
  for (const count of counts) apart += Math.abs(count - mean);
  return apart / (2 * sum);
}

/**
 * Chooses for one subject after the other the row that leaves positions most even over all subjects so far, then
 * neighbours, then the lowest row. Rows are tried to twice the number of probes: an odd Williams design has so many.
 * A pass that is repeated in an exercise counts once: it repeats the same positions.
 * @returns null when there is no order at all.
 */
export function planRotation(request: Omit<RotationRequest, 'offset'>, subjects: number): RotationPlan | null {
  const { probeCount } = request;
  const base = rotatePorts({ ...request, offset: 0 });
  if (base === null) return null;
  const rows = base.rule === 'fixed' ? 1 : 2 * probeCount;
  const candidates = Array.from({ length: rows }, (_, offset) => ordersFrom(request, base, offset));
  const allowed = allowedPairs(request);
  const counts = Array.from({ length: probeCount }, () => new Array<number>(probeCount).fill(0));
  const pairs = new Map<string, number>(allowed.map((pair) => [pair, 0]));
  const offsets: number[] = [];
  const figures = (): readonly [number, number] => [
    residualImbalance(counts.flat()),
    residualImbalance([...pairs.values()]),
  ];
  for (let subject = 0; subject < subjects; subject += 1) {
    let best = 0;
    let lowest: readonly [number, number] | null = null;
    for (const [offset, orders] of candidates.entries()) {
      count(orders, 1, counts, pairs);
      const [position, neighbour] = figures();
      count(orders, -1, counts, pairs);
      // Sums of the same terms in another order differ in their last digits.
      const nearer = lowest === null || position < lowest[0] - 1e-12;
      const even = lowest !== null && Math.abs(position - lowest[0]) <= 1e-12 && neighbour < lowest[1] - 1e-12;
      if (!nearer && !even) continue;
      best = offset;
      lowest = [position, neighbour];
    }
    offsets.push(best);
    count(candidates[best] ?? [], 1, counts, pairs);
  }
  const [positions, neighbours] = figures();
  return { offsets, positions, neighbours, counts };
}

/** What is searched is searched once: another row only begins elsewhere in it. */
function ordersFrom(request: Omit<RotationRequest, 'offset'>, base: Rotation, offset: number): Rotation['orders'] {
  const { orders, rule } = base;
  if (rule === 'fixed') return orders;
  if (rule === 'searched') return orders.map((_, index) => orders[(index + offset) % orders.length] ?? []);
  return rotatePorts({ ...request, offset })?.orders ?? orders;
}

function count(orders: Rotation['orders'], by: 1 | -1, counts: number[][], pairs: Map<string, number>): void {
  for (const order of orders) {
    for (const [position, probe] of order.entries()) {
      const row = counts[probe];
      if (row !== undefined) row[position] = (row[position] ?? 0) + by;
      const before = position === 0 ? undefined : order[position - 1];
      if (before !== undefined) pairs.set(pairKey(before, probe), (pairs.get(pairKey(before, probe)) ?? 0) + by);
    }
  }
}

function allowedPairs({ forbidden, probeCount }: Pick<RotationRequest, 'forbidden' | 'probeCount'>): string[] {
  const barred = new Set(forbidden.map(([before, after]) => pairKey(before, after)));
  const place = (index: number): readonly number[] => [Math.floor(index / probeCount), index % probeCount];
  const all = Array.from({ length: probeCount ** 2 }, (_, index) => place(index));
  return all.flatMap(([before = 0, after = 0]) => {
    const key = pairKey(before, after);
    return before === after || barred.has(key) ? [] : [key];
  });
}

function pairKey(before: number, after: number): string {
  return `${before} ${after}`;
}
