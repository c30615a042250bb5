import { levenbergMarquardt } from 'ml-levenberg-marquardt';
import { Matrix, QrDecomposition } from 'ml-matrix';

/** A curve with a few parameters, and how it moves with each of them. */
export interface Curve {
  /** Value at a place. */
  readonly value: (parameters: readonly number[], at: number) => number;
  /** Derivative by each parameter at a place, one element for each parameter. */
  readonly gradient: (parameters: readonly number[], at: number) => number[];
}

export interface CurveFit {
  readonly parameters: readonly number[];
  /** Standard error of each parameter for white noise; null where the readings do not determine it. */
  readonly standardErrors: readonly (number | null)[];
  readonly sumOfSquares: number;
  readonly degreesOfFreedom: number;
  /** Root mean square of the residuals over the degrees of freedom, unit of the values. */
  readonly residualDeviation: number;
  /** The last step changed no parameter by more than 1e-11 of its scale. */
  readonly converged: boolean;
}

/**
 * Least squares with equal weights: Levenberg and Marquardt's method from a library, then Gauss–Newton steps by QR
 * decomposition until nothing moves any more, because the library stops after a number of steps wherever it is.
 * @param at, values one element for each reading, more than there are parameters.
 * @param start where to begin, @param scales a change of each parameter that would be noticed, all positive.
 * @param lowest, highest bounds of each parameter.
 * @throws RangeError for too few readings or one that is not finite.
 */
export function fitCurve(
  curve: Curve,
  at: Float64Array,
  values: Float64Array,
  start: readonly number[],
  scales: readonly number[],
  lowest: readonly number[],
  highest: readonly number[],
): CurveFit {
  if (at.length !== values.length) throw new RangeError('every place needs one value');
  if (values.length <= start.length) {
    throw new RangeError(`${start.length} parameters need more than ${values.length} readings`);
  }
  if (!at.every(Number.isFinite) || !values.every(Number.isFinite)) {
    throw new RangeError('every reading must be a finite number');
  }
  // In units of the scales, so that one damping suits all parameters.
  const own = (scaled: readonly number[]): number[] => scaled.map((value, index) => value * (scales[index] as number));
  const scaled = (parameters: readonly number[]): number[] =>
    parameters.map((value, index) => value / (scales[index] as number));
  const gradient = (parameters: readonly number[], place: number): number[] =>
    curve.gradient(own(parameters), place).map((slope, index) => slope * (scales[index] as number));
  const rough = levenbergMarquardt(
    { x: at, y: values },
    (parameters) => (place) => curve.value(own(parameters), place),
    {
      initialValues: scaled(start),
      jacobianFunction: (parameters) => (place) => gradient(parameters, place),
      minValues: scaled(lowest),
      maxValues: scaled(highest),
      maxIterations: 40,
      errorTolerance: 0,
    },
  );
  let parameters = rough.parameterValues;
  const residuals = (of: readonly number[]): Float64Array => {
    const ownParameters = own(of);
    return values.map((value, index) => value - curve.value(ownParameters, at[index] as number));
  };
  const squares = (of: Float64Array): number => of.reduce((sum, residual) => sum + residual * residual, 0);
  let left = residuals(parameters);
  let sumOfSquares = squares(left);
  let converged = false;
  for (let round = 0; round < 50 && !converged; round += 1) {
    const step = gaussNewtonStep(at, parameters, gradient, left);
    if (step === null) break;
    let share = 1;
    let accepted = false;
    for (; share > 1e-4 && !accepted; share /= 2) {
      const candidate = parameters.map((value, index) =>
        Math.min(
          Math.max(value + share * (step[index] as number), (lowest[index] as number) / (scales[index] as number)),
          (highest[index] as number) / (scales[index] as number),
        ),
      );
      const candidateLeft = residuals(candidate);
      const candidateSquares = squares(candidateLeft);
      // Near the bottom rounding decides which sum is smaller.
      if (!(candidateSquares <= sumOfSquares * (1 + 1e-13))) continue;
      accepted = true;
      converged = candidate.every((value, index) => Math.abs(value - (parameters[index] as number)) < 1e-11);
      parameters = candidate;
      left = candidateLeft;
      sumOfSquares = candidateSquares;
    }
    if (!accepted) break;
  }
  const degreesOfFreedom = values.length - parameters.length;
  const residualDeviation = Math.sqrt(sumOfSquares / degreesOfFreedom);
  return {
    parameters: own(parameters),
    standardErrors: standardErrors(at, parameters, gradient, residualDeviation).map((error, index) =>
      error === null ? null : error * (scales[index] as number),
    ),
    sumOfSquares,
    degreesOfFreedom,
    residualDeviation,
    converged,
  };
}

type Gradient = (parameters: readonly number[], place: number) => number[];

function jacobian(at: Float64Array, parameters: readonly number[], gradient: Gradient): Matrix {
  return new Matrix(Array.from(at, (place) => gradient(parameters, place)));
}

/** Null where the readings do not determine every parameter. */
function gaussNewtonStep(
  at: Float64Array,
  parameters: readonly number[],
  gradient: Gradient,
  left: Float64Array,
): number[] | null {
  const decomposition = new QrDecomposition(jacobian(at, parameters, gradient));
  if (!decomposition.isFullRank()) return null;
  const step = decomposition.solve(Matrix.columnVector(Array.from(left))).to1DArray();
  return step.every(Number.isFinite) ? step : null;
}

/** From (JᵀJ)⁻¹ = R⁻¹ R⁻ᵀ: the length of each row of R⁻¹, times the residual deviation. */
function standardErrors(
  at: Float64Array,
  parameters: readonly number[],
  gradient: Gradient,
  residualDeviation: number,
): (number | null)[] {
  const decomposition = new QrDecomposition(jacobian(at, parameters, gradient));
  const triangle = decomposition.upperTriangularMatrix;
  const count = parameters.length;
  if (!decomposition.isFullRank()) return parameters.map(() => null);
  const inverse = new QrDecomposition(triangle).solve(Matrix.eye(count));
  return parameters.map((_, row) => residualDeviation * Math.hypot(...inverse.getRow(row)));
}
