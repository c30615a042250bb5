import { fProbability } from './distributions.ts';
import { sumOf } from './univariate.ts';

/** One source of variation. */
export interface VarianceSource {
  readonly sumOfSquares: number;
  readonly degreesOfFreedom: number;
  readonly meanSquare: number;
}

/** Groups compared by their means. Sums of squares in the squared unit of the values. */
export interface OneWayAnalysis {
  readonly between: VarianceSource;
  readonly within: VarianceSource;
  /** Infinity when nothing scatters within the groups but something between them; NaN when nothing scatters. */
  readonly f: number;
  /** Chance of this F or a larger one when all groups are alike. */
  readonly probability: number;
  /** Share of the sum of squares that lies between the groups. */
  readonly rSquared: number;
}

/**
 * One-way analysis of variance. Deviations are taken from means, never from sums of squares of the values.
 * @param groups at least two, none empty, one of them with two values or more.
 * @throws RangeError otherwise, and for a value that is not finite.
 */
export function oneWayAnalysis(groups: readonly ArrayLike<number>[]): OneWayAnalysis {
  if (groups.length < 2) throw new RangeError('an analysis of variance needs at least two groups');
  if (groups.some((group) => group.length === 0)) throw new RangeError('a group has no values');
  const origin = (groups[0] as ArrayLike<number>)[0] as number;
  // Counted from the first value, which costs nothing where values are close together and large.
  const shifted = groups.map((group) => Float64Array.from(group, (value) => value - origin));
  const count = shifted.reduce((total, group) => total + group.length, 0);
  if (count === groups.length) throw new RangeError('no group has two values: nothing shows the scatter within');
  const means = shifted.map((group) => sumOf(group) / group.length);
  const grand = sumOf(shifted.map((group) => sumOf(group))) / count;
  if (!Number.isFinite(grand)) throw new RangeError('every value must be a finite number');
  const between = source(
    sumOf(shifted.map((group, index) => group.length * ((means[index] as number) - grand) ** 2)),
    groups.length - 1,
  );
  const within = source(
    sumOf(shifted.map((group, index) => sumOf(group.map((value) => (value - (means[index] as number)) ** 2)))),
    count - groups.length,
  );
  const f = between.meanSquare / within.meanSquare;
  return {
    between,
    within,
    f,
    probability: probabilityBeyond(f, between, within),
    rSquared: between.sumOfSquares / (between.sumOfSquares + within.sumOfSquares),
  };
}

/** Two crossed factors, both drawn from many, with repeats in each cell. */
export interface CrossedAnalysis {
  readonly rows: VarianceSource;
  readonly columns: VarianceSource;
  readonly interaction: VarianceSource;
  readonly within: VarianceSource;
  /** Mean square of the rows, and of the columns, over that of the interaction. */
  readonly fRows: number;
  readonly fColumns: number;
  /** Variances of the random model; an estimate below zero is 0. */
  readonly components: {
    readonly rows: number;
    readonly columns: number;
    readonly interaction: number;
    readonly within: number;
  };
}

/**
 * Two-way analysis of variance of a crossed random design, for example subjects by ensembles on log leakage:
 * y = µ + A + B + AB + e, E(MS_A) = σ² + n σ²_AB + b n σ²_A, and likewise B; textbook, from memory.
 * @param cells `cells[row][column]` holds the repeats: as many in each, at least two; two rows and columns or more.
 * @throws RangeError otherwise, and for a value that is not finite.
 */
export function crossedAnalysis(cells: readonly (readonly (readonly number[])[])[]): CrossedAnalysis {
  const rowCount = cells.length;
  const columnCount = cells[0]?.length ?? 0;
  const repeats = cells[0]?.[0]?.length ?? 0;
  if (rowCount < 2 || columnCount < 2) throw new RangeError('a crossed design needs at least two rows and two columns');
  if (repeats < 2) throw new RangeError('a crossed design needs at least two repeats in each cell');
  if (cells.some((row) => row.length !== columnCount || row.some((cell) => cell.length !== repeats))) {
    throw new RangeError('every cell of a crossed design needs as many repeats as the first one');
  }
  const origin = (cells[0] as readonly (readonly number[])[])[0]?.[0] ?? 0;
  const cellMeans = cells.map((row) => row.map((cell) => sumOf(cell.map((value) => value - origin)) / repeats));
  const rowMeans = cellMeans.map((row) => sumOf(row) / columnCount);
  const columnMeans = Array.from(
    { length: columnCount },
    (_, column) => sumOf(cellMeans.map((row) => row[column] as number)) / rowCount,
  );
  const grand = sumOf(rowMeans) / rowCount;
  if (!Number.isFinite(grand)) throw new RangeError('every value must be a finite number');
  const squares = (values: readonly number[]): number => sumOf(values.map((value) => value * value));
  const rows = source(columnCount * repeats * squares(rowMeans.map((mean) => mean - grand)), rowCount - 1);
  const columns = source(rowCount * repeats * squares(columnMeans.map((mean) => mean - grand)), columnCount - 1);
  const together = cellMeans.flatMap((row, index) =>
    row.map((mean, column) => mean - (rowMeans[index] as number) - (columnMeans[column] as number) + grand),
  );
  const interaction = source(repeats * squares(together), (rowCount - 1) * (columnCount - 1));
  const inside = cells.flatMap((row, index) =>
    row.flatMap((cell, column) => cell.map((value) => value - origin - (cellMeans[index]?.[column] as number))),
  );
  const within = source(squares(inside), rowCount * columnCount * (repeats - 1));
  const atLeastZero = (value: number): number => Math.max(0, value);
  return {
    rows,
    columns,
    interaction,
    within,
    fRows: rows.meanSquare / interaction.meanSquare,
    fColumns: columns.meanSquare / interaction.meanSquare,
    components: {
      rows: atLeastZero((rows.meanSquare - interaction.meanSquare) / (columnCount * repeats)),
      columns: atLeastZero((columns.meanSquare - interaction.meanSquare) / (rowCount * repeats)),
      interaction: atLeastZero((interaction.meanSquare - within.meanSquare) / repeats),
      within: within.meanSquare,
    },
  };
}

/** Two crossed factors, both drawn from many, with one value in each cell. */
export interface CrossedSingleAnalysis {
  readonly rows: VarianceSource;
  readonly columns: VarianceSource;
  /** Interaction and scatter of single values together: one value in a cell cannot tell them apart. */
  readonly residual: VarianceSource;
  readonly fRows: number;
  readonly fColumns: number;
  /** Variances of the random model; an estimate below zero is 0. */
  readonly components: { readonly rows: number; readonly columns: number; readonly residual: number };
}

/**
 * As `crossedAnalysis`, without repeats: E(MS_A) = σ² + b σ²_A, E(MS_B) = σ² + a σ²_B; textbook, from memory.
 * @param values `values[row][column]`; two rows and columns or more.
 * @throws RangeError otherwise, and for a value that is not finite.
 */
export function crossedSingleAnalysis(values: readonly (readonly number[])[]): CrossedSingleAnalysis {
  const rowCount = values.length;
  const columnCount = values[0]?.length ?? 0;
  if (rowCount < 2 || columnCount < 2) throw new RangeError('a crossed design needs at least two rows and two columns');
  if (values.some((row) => row.length !== columnCount)) throw new RangeError('every row needs as many values');
  const origin = values[0]?.[0] ?? 0;
  const shifted = values.map((row) => row.map((value) => value - origin));
  const rowMeans = shifted.map((row) => sumOf(row) / columnCount);
  const columnMeans = Array.from(
    { length: columnCount },
    (_, column) => sumOf(shifted.map((row) => row[column] as number)) / rowCount,
  );
  const grand = sumOf(rowMeans) / rowCount;
  if (!Number.isFinite(grand)) throw new RangeError('every value must be a finite number');
  const squares = (deviations: readonly number[]): number => sumOf(deviations.map((value) => value * value));
  const rows = source(columnCount * squares(rowMeans.map((mean) => mean - grand)), rowCount - 1);
  const columns = source(rowCount * squares(columnMeans.map((mean) => mean - grand)), columnCount - 1);
  const left = shifted.flatMap((row, index) =>
    row.map((value, column) => value - (rowMeans[index] as number) - (columnMeans[column] as number) + grand),
  );
  const residual = source(squares(left), (rowCount - 1) * (columnCount - 1));
  return {
    rows,
    columns,
    residual,
    fRows: rows.meanSquare / residual.meanSquare,
    fColumns: columns.meanSquare / residual.meanSquare,
    components: {
      rows: Math.max(0, (rows.meanSquare - residual.meanSquare) / columnCount),
      columns: Math.max(0, (columns.meanSquare - residual.meanSquare) / rowCount),
      residual: residual.meanSquare,
    },
  };
}

function source(sumOfSquares: number, degreesOfFreedom: number): VarianceSource {
  return { sumOfSquares, degreesOfFreedom, meanSquare: sumOfSquares / degreesOfFreedom };
}

function probabilityBeyond(f: number, above: VarianceSource, below: VarianceSource): number {
  return Number.isNaN(f) ? f : 1 - fProbability(f, above.degreesOfFreedom, below.degreesOfFreedom);
}
