import { normalQuantile, studentQuantile } from '../../statistics/distributions.ts';
import { rootBetween } from '../../statistics/root.ts';

/** What a certificate says of its doubt. */
export interface StatedExpanded {
  /** U, in the unit of the value. */
  readonly expandedUncertainty: number;
  /** k. */
  readonly coverageFactor: number;
  /** Coverage probability, percent; undefined: not stated. */
  readonly coveragePercent?: number | undefined;
}

export interface CertificateDoubt {
  /** In the unit of the value. */
  readonly standardUncertainty: number;
  /** Null: none are stated, or so many that they do not matter. */
  readonly degreesOfFreedom: number | null;
}

/** Certificates print k with two decimals: what rounds to the normal factor is no sign of few degrees of freedom. */
const printedHalfStep = 0.005;
/** t of 95.45 % with these many degrees of freedom is 2.000 to three decimals. */
const manyDegrees = 1e4;

/**
 * u = U/k (JCGM 100:2008, 4.3.3). Where the coverage probability p is stated as well, a k above the normal one is a
 * Student factor, k = t_p(ν), and tells the degrees of freedom behind u (G.3.4, G.6.4).
 */
export function certificateDoubt({
  coverageFactor,
  coveragePercent,
  expandedUncertainty,
}: StatedExpanded): CertificateDoubt {
  const standardUncertainty = expandedUncertainty / coverageFactor;
  if (coveragePercent === undefined) return { standardUncertainty, degreesOfFreedom: null };
  const probability = (1 + coveragePercent / 100) / 2;
  if (coverageFactor <= normalQuantile(probability) + printedHalfStep) {
    return { standardUncertainty, degreesOfFreedom: null };
  }
  const beyond = (degrees: number): number => studentQuantile(probability, degrees) - coverageFactor;
  // A larger k than that of a single degree of freedom tells nothing more.
  if (beyond(1) <= 0) return { standardUncertainty, degreesOfFreedom: 1 };
  if (beyond(manyDegrees) >= 0) return { standardUncertainty, degreesOfFreedom: null };
  return { standardUncertainty, degreesOfFreedom: rootBetween(beyond, 1, manyDegrees) };
}
