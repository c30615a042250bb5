import { studentQuantile } from '../../statistics/distributions.ts';
import { evenChiSquareAbove, noncentralStudentAbove } from '../../statistics/noncentral-tail.ts';
import { rootBetween } from '../../statistics/root.ts';

/** What Welch's t asks of two groups, one line for each way in which their scatter may be found to differ. */
export type WelchReach = readonly { readonly weight: number; readonly critical: number }[];

/**
 * Critical values of Welch's t of two groups of equal size whose true scatter is equal, each with its chance. Of such
 * groups t itself is that of the pooled scatter; what Welch changes are the degrees of freedom that Satterthwaite reads
 * off the two scatters found, (n − 1)/(b² + (1 − b)²), where b, the first variance over the sum of both, follows
 * beta((n − 1)/2, (n − 1)/2) and says nothing of that sum. Textbook. Trapezium rule on y, b = (1 + tanh y)/2.
 * @param subjects in each group, at least 3. @param doubt of one side.
 */
export function welchReach(subjects: number, doubt: number): WelchReach {
  const each = subjects - 1;
  const step = Math.min(0.2, 0.5 / Math.sqrt(each));
  const lines: { weight: number; critical: number }[] = [];
  let sum = 0;
  for (let index = 0; ; index += 1) {
    const unlike = Math.tanh(index * step);
    // Both signs of y at once.
    const weight = (index === 0 ? 1 : 2) * Math.cosh(index * step) ** -each;
    if (weight < 1e-16) break;
    sum += weight;
    lines.push({ weight, critical: studentQuantile(1 - doubt, (2 * each) / (1 + unlike ** 2)) });
  }
  return lines.map(({ weight, critical }) => ({ weight: weight / sum, critical }));
}

/** Chance that Welch's interval leaves out 0, on either side. @param noncentrality as of the pooled t, not negative. */
export function welchPower(reach: WelchReach, subjects: number, noncentrality: number): number {
  const pooled = 2 * subjects - 2;
  return reach.reduce((sum, { weight, critical }) => {
    const other = noncentrality > 37 ? 0 : noncentralStudentAbove(critical, pooled, -noncentrality);
    return sum + weight * (noncentralStudentAbove(critical, pooled, noncentrality) + other);
  }, 0);
}

/** Half width of Welch's interval that this share (0.5 to 0.99) of studies does not exceed, in standard errors. */
export function welchLikelyReach(reach: WelchReach, subjects: number, share: number): number {
  const pooled = 2 * subjects - 2;
  const criticals = reach.map(({ critical }) => critical);
  const beyond = (width: number): number =>
    reach.reduce(
      (sum, { weight, critical }) => sum + weight * evenChiSquareAbove(pooled * (width / critical) ** 2, pooled),
      share - 1,
    );
  return rootBetween(beyond, Math.min(...criticals) / 4, 4 * Math.max(...criticals));
}
