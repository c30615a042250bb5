import { ChambersideError } from '../model/error-code.ts';

/** For a statistic that is asked beyond the range in which it holds. @param remedy what whoever asked can do. */
export function outsideValidity(what: string, statistic: string, remedy: string): ChambersideError {
  return new ChambersideError('outside-validity', what, statistic, remedy);
}

/** Whether values differ by more than rounding. */
export function scatters(values: readonly number[]): boolean {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return high - low > 1e-12 * Math.max(1, Math.abs(low), Math.abs(high));
}

/** @throws ChambersideError `outside-validity` unless the share lies between 0.5 and 1, both left out. */
export function requireConfidence(share: number, name: string, statistic: string): void {
  if (!(share > 0.5 && share < 1)) {
    throw outsideValidity(`the ${name} is ${share}`, statistic, 'Give a share above 0.5 and below 1, like 0.95.');
  }
}
