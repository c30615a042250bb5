/**
 * Where a continuous function crosses zero between two places, to the last digits that double precision gives.
 * R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 4.
 * @param low, high places at which `of` has different signs, or is zero.
 * @throws RangeError when it has not, or gives something that is no number.
 */
export function rootBetween(of: (at: number) => number, low: number, high: number): number {
  let previous = low;
  let best = high;
  let valuePrevious = of(previous);
  let valueBest = of(best);
  if (Number.isNaN(valuePrevious * valueBest) || valuePrevious * valueBest > 0) {
    throw new RangeError(`no crossing lies between ${low} and ${high}: ${valuePrevious} and ${valueBest}`);
  }
  let counter = previous;
  let valueCounter = valuePrevious;
  let step = best - previous;
  let stepBefore = step;
  for (let round = 0; round < 200; round += 1) {
    if (valueBest > 0 === valueCounter > 0) {
      counter = previous;
      valueCounter = valuePrevious;
      step = best - previous;
      stepBefore = step;
    }
    if (Math.abs(valueCounter) < Math.abs(valueBest)) {
      [previous, best, counter] = [best, counter, best];
      [valuePrevious, valueBest, valueCounter] = [valueBest, valueCounter, valueBest];
    }
    const tolerance = 2 * Number.EPSILON * Math.abs(best) + Number.MIN_VALUE;
    const half = (counter - best) / 2;
    if (Math.abs(half) <= tolerance || valueBest === 0) return best;
    const inside =
      Math.abs(stepBefore) >= tolerance && Math.abs(valuePrevious) > Math.abs(valueBest)
        ? interpolated(previous, best, counter, valuePrevious, valueBest, valueCounter)
        : null;
    const widest = Math.min(Math.abs(3 * half), Math.abs(stepBefore)) / 2;
    if (inside !== null && Math.abs(inside) < widest && inside * half > 0) {
      stepBefore = step;
      step = inside;
    } else {
      step = half;
      stepBefore = half;
    }
    previous = best;
    valuePrevious = valueBest;
    best += Math.abs(step) > tolerance ? step : Math.sign(half) * tolerance;
    valueBest = of(best);
    if (Number.isNaN(valueBest)) throw new RangeError(`the function gives no number at ${best}`);
  }
  return best;
}

/** Step from `best` to where a secant, or an inverse parabola through three places, crosses zero. */
function interpolated(
  previous: number,
  best: number,
  counter: number,
  valuePrevious: number,
  valueBest: number,
  valueCounter: number,
): number {
  const ratio = valueBest / valuePrevious;
  if (previous === counter) return ((counter - best) * ratio) / (1 - ratio);
  const first = valuePrevious / valueCounter;
  const second = valueBest / valueCounter;
  const numerator = ratio * ((counter - best) * first * (first - second) - (best - previous) * (second - 1));
  const denominator = (first - 1) * (second - 1) * (ratio - 1);
  return -numerator / denominator;
}
