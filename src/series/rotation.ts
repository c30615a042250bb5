import { williamsSquares } from './williams.ts';

/** What a port order has to satisfy. Probes are indices 0 … probeCount − 1 in rig order. */
export interface RotationRequest {
  readonly probeCount: number;
  readonly exerciseCount: number;
  readonly kind: 'rotated' | 'fixed';
  /** Row with which the first exercise begins, ≥ 0; differs by subject. Without effect on a fixed order. */
  readonly offset: number;
  /** Ordered pairs [before, after] that must never be neighbours. */
  readonly forbidden: readonly (readonly [number, number])[];
  /** True when an exercise goes through its order more than once: then last → first must be allowed too. */
  readonly repeated: boolean;
}

/** How evenly the probes are spread over the positions of an exercise. */
export interface PositionBalance {
  /** `counts[probe][position]`: exercises in which the probe stands there (in one pass through the order). */
  readonly counts: readonly (readonly number[])[];
  /** Highest minus lowest count; 0 is balanced, 1 is the best when exercises are no multiple of probes. */
  readonly largestDifference: number;
}

/** Which construction gave the order, for the planner's explanation. */
export type RotationRule = 'williams' | 'cyclic' | 'searched' | 'fixed';

export interface Rotation {
  /** One order of probe indices per exercise. */
  readonly orders: readonly (readonly number[])[];
  readonly rule: RotationRule;
  readonly balance: PositionBalance;
}

/** Nodes a search may visit before it settles for the best found: bounds the time to well under a second. */
const searchBudget = 200_000;

/**
 * Port orders over the exercises of one series.
 *
 * - nothing forbidden: Williams squares (balanced for position and for neighbours);
 * - otherwise, where the probes can be set on a ring without a forbidden neighbour: the rotations of that ring, a
 *   Latin square each, with another ring for every further set of exercises so that neighbours vary too;
 * - otherwise: legal orders chosen one by one so that positions stay as even as they can.
 *
 * In the first two cases every set of `probeCount` exercises (the first ones, the next ones, …) has each probe once
 * in each position, whatever the offset. The same request gives the same orders everywhere: nothing is random.
 *
 * @returns null when no order satisfies the request (or none is found within the search budget).
 */
export function rotatePorts(request: RotationRequest): Rotation | null {
  const { probeCount, exerciseCount, offset } = request;
  const allowed = allowedNeighbours(request);
  if (request.kind === 'fixed') {
    const order = cheapestOrder(
      allowed,
      request.repeated,
      () => 0,
      () => 0,
    );
    if (order === null) return null;
    return finish(
      request,
      'fixed',
      Array.from({ length: exerciseCount }, () => order),
    );
  }
  const squares = squaresFor(request, allowed);
  if (squares !== null) {
    const orders = Array.from({ length: exerciseCount }, (_, exercise) => {
      const block = Math.floor(exercise / probeCount) + Math.floor(offset / probeCount);
      const square = squares.blocks[block % squares.blocks.length];
      return square?.[(offset + exercise) % probeCount] ?? [];
    });
    return finish(request, squares.rule, orders);
  }
  // With a pass repeated, last → first must be legal: that is a ring, and there is none.
  if (request.repeated) return null;
  const rows = searchedRows(request, allowed);
  if (rows === null) return null;
  return finish(
    request,
    'searched',
    rows.map((_, index) => rows[(index + offset) % rows.length] ?? []),
  );
}

/** Counts of probes per position over orders of equal length. */
export function positionBalance(probeCount: number, orders: readonly (readonly number[])[]): PositionBalance {
  const counts = Array.from({ length: probeCount }, () => new Array<number>(probeCount).fill(0));
  for (const order of orders) {
    for (const [position, probe] of order.entries()) {
      const row = counts[probe];
      if (row !== undefined) row[position] = (row[position] ?? 0) + 1;
    }
  }
  const all = counts.flat();
  return { counts, largestDifference: all.length === 0 ? 0 : Math.max(...all) - Math.min(...all) };
}

function finish(request: RotationRequest, rule: RotationRule, orders: readonly (readonly number[])[]): Rotation {
  return { orders, rule, balance: positionBalance(request.probeCount, orders) };
}

/** `allowed[before][after]`. */
function allowedNeighbours(request: RotationRequest): boolean[][] {
  const allowed = Array.from({ length: request.probeCount }, () => new Array<boolean>(request.probeCount).fill(true));
  for (const [before, after] of request.forbidden) {
    const row = allowed[before];
    if (row !== undefined && after < request.probeCount) row[after] = false;
  }
  return allowed;
}

function squaresFor(
  request: RotationRequest,
  allowed: readonly (readonly boolean[])[],
): { rule: RotationRule; blocks: number[][][] } | null {
  if (request.forbidden.length === 0) return { rule: 'williams', blocks: williamsSquares(request.probeCount) };
  const blockCount = Math.max(1, Math.floor(request.exerciseCount / request.probeCount));
  const uses = allowed.map((row) => row.map(() => 0));
  const blocks: number[][][] = [];
  for (let block = 0; block < blockCount; block += 1) {
    const ring = cheapestOrder(
      allowed,
      true,
      () => 0,
      (before, after) => uses[before]?.[after] ?? 0,
    );
    if (ring === null) return null;
    for (const [index, before] of ring.entries()) {
      const after = ring[(index + 1) % ring.length] ?? 0;
      const row = uses[before];
      if (row !== undefined) row[after] = (row[after] ?? 0) + 1;
    }
    blocks.push(ring.map((_, shift) => ring.map((_probe, index) => ring[(index + shift) % ring.length] ?? 0)));
  }
  return { rule: 'cyclic', blocks };
}

/** One legal order per exercise, each the cheapest by how often its probes stood in these positions before. */
function searchedRows(request: RotationRequest, allowed: readonly (readonly boolean[])[]): number[][] | null {
  const stood = allowed.map((row) => row.map(() => 0));
  const rows: number[][] = [];
  for (let exercise = 0; exercise < request.exerciseCount; exercise += 1) {
    const row = cheapestOrder(
      allowed,
      false,
      (probe, position) => stood[probe]?.[position] ?? 0,
      () => 0,
    );
    if (row === null) return null;
    for (const [position, probe] of row.entries()) {
      const counts = stood[probe];
      if (counts !== undefined) counts[position] = (counts[position] ?? 0) + 1;
    }
    rows.push(row);
  }
  return rows;
}

/**
 * Depth-first branch and bound for the legal order (or ring, when `closed`) of lowest cost: the sum of
 * `positionCost(probe, position)` and `neighbourCost(before, after)`. A ring is cut before its lowest index.
 * Ties fall to the order that comes first by index. Null when there is none, or none within the budget.
 */
function cheapestOrder(
  allowed: readonly (readonly boolean[])[],
  closed: boolean,
  positionCost: (probe: number, position: number) => number,
  neighbourCost: (before: number, after: number) => number,
): number[] | null {
  const count = allowed.length;
  const used = new Array<boolean>(count).fill(false);
  const path: number[] = [];
  let best: number[] | null = null;
  let bestCost = Number.POSITIVE_INFINITY;
  let visited = 0;

  const visit = (cost: number): void => {
    if (cost >= bestCost) return;
    const last = path[path.length - 1];
    if (path.length === count) {
      const first = path[0] ?? 0;
      if (closed && last !== undefined && allowed[last]?.[first] !== true) return;
      const total = cost + (closed && last !== undefined ? neighbourCost(last, first) : 0);
      if (total < bestCost) {
        best = [...path];
        bestCost = total;
      }
      return;
    }
    const candidates: { probe: number; added: number }[] = [];
    const end = closed && last === undefined ? 1 : count;
    for (let probe = 0; probe < end; probe += 1) {
      if (used[probe] === true || (last !== undefined && allowed[last]?.[probe] !== true)) continue;
      const added = positionCost(probe, path.length) + (last === undefined ? 0 : neighbourCost(last, probe));
      candidates.push({ probe, added });
    }
    candidates.sort((left, right) => left.added - right.added || left.probe - right.probe);
    for (const { probe, added } of candidates) {
      visited += 1;
      if (visited > searchBudget) return;
      used[probe] = true;
      path.push(probe);
      visit(cost + added);
      path.pop();
      used[probe] = false;
    }
  };
  visit(0);
  return best;
}
