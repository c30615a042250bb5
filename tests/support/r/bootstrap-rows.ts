import { normalQuantile } from '../../../src/statistics/distributions.ts';
import { bootstrapDraws, bootstrapRatio } from '../../../src/study/bootstrap.ts';
import type { EnsembleLeakages } from '../../../src/study/ratio.ts';
import type { SetRow } from './study-rows.ts';

/** An interval as R has drawn it, of natural logarithms. */
export interface BootstrapRow {
  readonly set: string;
  readonly ratio: string;
  readonly low: number;
  readonly high: number;
  readonly sd: number;
}

/** What `tests/landing/r/bootstrap.R` prints. */
export function bootstrapRows(text: string): BootstrapRow[] {
  const found = new Map<string, Record<string, number>>();
  for (const line of text.split('\n').slice(2)) {
    const [set, ratio, figure, value] = line.split(',');
    if (set === undefined || ratio === undefined || figure === undefined) continue;
    const key = `${set},${ratio}`;
    found.set(key, { ...found.get(key), [figure]: Number(value) });
  }
  return [...found].map(([key, figures]) => {
    const [set = '', ratio = ''] = key.split(',');
    return { set, ratio, low: NaN, high: NaN, sd: NaN, ...figures };
  });
}

/** How far an end of this program lies from that of R, in standard errors of the difference of two such draws. */
export function endsApart(row: BootstrapRow, sets: readonly SetRow[], seed: number): number[] {
  const own = sets.filter(({ set }) => set === row.set);
  const [lower = '', upper = ''] = row.ratio.split(' ');
  const of = (ensemble: string): EnsembleLeakages => ({
    ensemble,
    bySubject: new Map(
      own
        .filter((one) => one.ensemble === ensemble)
        .map(({ subject, value }) => [subject, { percent: value, below: false }]),
    ),
  });
  const ensembles = new Set(own.map(({ ensemble }) => ensemble)).size;
  const ratios = (ensembles * (ensembles - 1)) / 2;
  const { low, high } = bootstrapRatio(of(lower), of(upper), ratios, seed);
  const tail = 0.05 / (2 * ratios);
  const density = Math.exp(-(normalQuantile(tail) ** 2) / 2) / Math.sqrt(2 * Math.PI) / row.sd;
  const error = (Math.SQRT2 * Math.sqrt((tail * (1 - tail)) / bootstrapDraws)) / density;
  return [Math.abs(Math.log(low) - row.low) / error, Math.abs(Math.log(high) - row.high) / error];
}
