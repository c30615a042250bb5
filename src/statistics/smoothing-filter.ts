import { Matrix, QrDecomposition } from 'ml-matrix';

/** Weights of one window, oldest reading first: what a fitted polynomial has at the middle. */
export interface SmoothingFilter {
  readonly value: readonly number[];
  /** Slope per sampling interval. */
  readonly slope: readonly number[];
}

/**
 * Least-squares polynomial over a window, at its middle. A. Savitzky and M. J. E. Golay, Anal. Chem. 36 (1964) 1627.
 * @param halfWidth readings on either side, 1 to 50. @param degree 1 to 6, at most twice the half width.
 * @throws RangeError otherwise.
 */
export function smoothingFilter(halfWidth: number, degree: number): SmoothingFilter {
  if (!Number.isInteger(halfWidth) || halfWidth < 1 || halfWidth > 50) {
    throw new RangeError(`the half width must be a whole number from 1 to 50: it is ${halfWidth}`);
  }
  if (!Number.isInteger(degree) || degree < 1 || degree > Math.min(6, 2 * halfWidth)) {
    throw new RangeError(`the degree must be a whole number from 1 to ${Math.min(6, 2 * halfWidth)}: it is ${degree}`);
  }
  const length = 2 * halfWidth + 1;
  // Places between −1 and 1, so that high powers do not spoil the digits.
  const places = Array.from({ length }, (_, index) => (index - halfWidth) / halfWidth);
  const powers = new Matrix(places.map((place) => Array.from({ length: degree + 1 }, (_, power) => place ** power)));
  const inverse = new QrDecomposition(powers).solve(Matrix.eye(length));
  return { value: inverse.getRow(0), slope: inverse.getRow(1).map((weight) => weight / halfWidth) };
}
