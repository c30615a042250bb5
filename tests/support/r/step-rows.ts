import { fitStep, type StepFit, type StepReadings } from '../../../src/calibration/step-response.ts';

/** A step as it is handed to R: readings, and where a fit begins. */
export interface ExportedStep {
  readonly step: string;
  readonly transitSeconds: number;
  readonly timeConstantSeconds: number;
  readonly readings: StepReadings;
}

export const stepColumns = 'step,tanks,transit,tau,second,value';

/** Lines of `stepColumns`, one for each reading; every figure as it is. */
export function stepLines({ step, transitSeconds, timeConstantSeconds, readings }: ExportedStep): string[] {
  const { tanks } = fitStep(readings, { transitSeconds, timeConstantSeconds });
  const shape = tanks === null ? '0' : tanks === Infinity ? 'Inf' : String(tanks);
  const beginning = `${step},${shape},${transitSeconds},${timeConstantSeconds}`;
  return Array.from(
    readings.seconds,
    (second, index) => `${beginning},${second},${readings.values[index] ?? NaN}`,
  );
}

/** Steps of a file of such lines. */
export function exportedSteps(text: string): ExportedStep[] {
  const rows = text
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#') && line !== stepColumns)
    .map((line) => line.split(','));
  return [...new Set(rows.map(([step = '']) => step))].map((step) => {
    const own = rows.filter(([name]) => name === step);
    const column = (index: number): Float64Array => Float64Array.from(own, (row) => Number(row[index]));
    return {
      step,
      transitSeconds: column(2)[0] ?? Number.NaN,
      timeConstantSeconds: column(3)[0] ?? Number.NaN,
      readings: { seconds: column(4), values: column(5) },
    };
  });
}

/** What R printed, by step: transit, dispersion, tau, levels before and after, residual deviation. */
export function fitsOfR(text: string): ReadonlyMap<string, readonly number[]> {
  const lines = text.split('\n').filter((line) => line !== '' && !line.startsWith('#') && !line.startsWith('step,'));
  return new Map(
    lines.map((line) => {
      const [step = '', ...numbers] = line.split(',');
      return [step, numbers.map(Number)];
    }),
  );
}

/** The same of this program. */
export function ownFit({ transitSeconds, timeConstantSeconds, readings }: ExportedStep): readonly number[] {
  const fit: StepFit = fitStep(readings, { transitSeconds, timeConstantSeconds });
  return [
    ...[fit.transitSeconds, fit.dispersionSeconds, fit.timeConstantSeconds],
    ...[fit.before, fit.after, fit.residualDeviation],
  ];
}

/**
 * Largest relative difference of two fits; the levels are compared to the height of the step, because the lower one is
 * nearly nothing.
 */
export function fitsApart(own: readonly number[], other: readonly number[]): number {
  const height = Math.abs((own[3] ?? 0) - (own[4] ?? 0));
  return Math.max(
    ...own.map((value, index) => {
      const gap = Math.abs(value - (other[index] ?? Number.NaN));
      const scale = index === 3 || index === 4 ? height : Math.abs(value);
      return gap === 0 ? 0 : gap / scale;
    }),
  );
}
