import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { fitCensoredNormal } from '../../../src/statistics/censored-normal.ts';
import { studyComponents } from '../../../src/study/components.ts';
import { lognormalSummary, toleranceFactor } from '../../../src/study/lognormal.ts';
import { passingShare } from '../../../src/study/passing-share.ts';
import { leakageRatio } from '../../../src/study/ratio.ts';
import { gaussianSource } from '../gaussian.ts';

/** One value of a set that is handed to R; a leakage, or the limit below which one lies. */
export interface SetRow {
  readonly set: string;
  readonly kind: 'censored' | 'lognormal' | 'contrast' | 'crossed';
  readonly subject: string;
  readonly ensemble: string;
  readonly value: number;
  readonly below: boolean;
}

/** DFe, Summer: the published set of values below several limits (see tests/published/study-statistics.test.ts). */
export const dissolvedIron = [
  ...[20, 7, 3].map((value) => ({ value, below: false })),
  ...[10, 10, 10, 10, 3, 3].map((value) => ({ value, below: true })),
];

/** Sets of every kind from a seed: as many censored ones as asked for, and a few of the others. */
export function generatedSets(seed: number, censored: number): SetRow[] {
  const normal = gaussianSource(seed);
  const generator = xoroshiro128plus(seed + 1);
  const uniform = (): number => uniformFloat64(generator);
  const rows: SetRow[] = [];
  const plain = { subject: 'S', ensemble: 'A', below: false };
  for (let number = 1; number <= censored; number += 1) {
    const set = `censored-${seed}-${number}`;
    const count = 6 + Math.floor(uniform() * 40);
    const deviation = 0.2 + 1.3 * uniform();
    const own = Array.from({ length: count }, () => {
      const value = 0.1 * Math.exp(deviation * normal());
      const limit = 0.1 * Math.exp(deviation * (1.6 * uniform() - 1.1));
      return value < limit ? { value: limit, below: true } : { value, below: false };
    });
    // The fit needs three that were read.
    if (own.filter(({ below }) => !below).length < 3) continue;
    rows.push(...own.map(({ value, below }) => ({ ...plain, set, kind: 'censored' as const, value, below })));
  }
  for (const count of [3, 6, 30]) {
    const set = `lognormal-${seed}-${count}`;
    for (let index = 0; index < count; index += 1) {
      rows.push({ ...plain, set, kind: 'lognormal', value: Math.exp(0.8 * normal() - 3) });
    }
  }
  for (const [subjects, ensembles, repeats] of [
    [6, 2, 1],
    [8, 3, 1],
    [5, 3, 2],
    [12, 2, 3],
  ] as const) {
    for (let subject = 1; subject <= subjects; subject += 1) {
      const own = 0.5 * normal();
      for (let ensemble = 0; ensemble < ensembles; ensemble += 1) {
        for (let trial = 0; trial < repeats; trial += 1) {
          const row = {
            subject: `S${subject}`,
            ensemble: 'ABC'.charAt(ensemble),
            value: Math.exp(own + 0.4 * ensemble + 0.3 * normal() - 2),
            below: false,
          };
          rows.push({ ...row, set: `crossed-${seed}-${subjects}-${ensembles}-${repeats}`, kind: 'crossed' });
          if (repeats === 1) rows.push({ ...row, set: `paired-${seed}-${subjects}-${ensembles}`, kind: 'contrast' });
        }
      }
    }
  }
  for (let subject = 1; subject <= 15; subject += 1) {
    const ensemble = subject <= 6 ? 'A' : 'B';
    const value = Math.exp((subject <= 6 ? 0.2 : 0.9) * normal());
    rows.push({ set: `unpaired-${seed}`, kind: 'contrast', subject: `S${subject}`, ensemble, value, below: false });
  }
  return rows;
}

const columns = 'set,kind,subject,ensemble,value,below';

export function setLines(rows: readonly SetRow[]): string {
  const lines = rows.map((row) =>
    [row.set, row.kind, row.subject, row.ensemble, String(row.value), row.below ? 1 : 0].join(','),
  );
  return `${[columns, ...lines].join('\n')}\n`;
}

export function readSets(text: string): SetRow[] {
  return dataLines(text, columns).map((words) => {
    const [set = '', kind = '', subject = '', ensemble = '', value = '', below = ''] = words;
    return { set, kind: kind as SetRow['kind'], subject, ensemble, value: Number(value), below: below === '1' };
  });
}

/** What R printed, by set and figure. */
export function figuresOfR(text: string): ReadonlyMap<string, number> {
  return new Map(
    dataLines(text, 'set,figure,value').map(([set = '', figure = '', value = '']) => [
      `${set},${figure}`,
      Number(value),
    ]),
  );
}

function dataLines(text: string, heading: string): string[][] {
  return text
    .split('\n')
    .filter((line) => line !== '' && !line.startsWith('#') && line !== heading)
    .map((line) => line.split(','));
}

/** The same figure of this program. */
export function ownFigure(key: string, sets: readonly SetRow[]): number {
  const [set = '', figure = ''] = key.split(',');
  const words = set.split(' ');
  if (words[0] === 'tolerance') return toleranceFactor(Number(words[1]), Number(words[2]), Number(words[3]));
  if (words[0] === 'share') {
    return passingShare(Number(words[1]), Number(words[2]))[figure as 'low' | 'high' | 'atLeast'];
  }
  const own = sets.filter((row) => row.set === set);
  const kind = own[0]?.kind;
  if (kind === 'censored') {
    const logs = (below: boolean): number[] =>
      own.filter((row) => row.below === below).map(({ value }) => Math.log(value));
    const fit = fitCensoredNormal(logs(false), logs(true));
    const names = { mean: 'mean', deviation: 'standardDeviation', error: 'standardErrorOfMean' } as const;
    return figure === 'likelihood' ? fit.logLikelihood : fit[names[figure as keyof typeof names]];
  }
  if (kind === 'lognormal') {
    const summary = lognormalSummary(own.map(({ value, below }) => ({ percent: value, below })));
    const names = {
      mean: summary.geometricMean,
      deviation: summary.geometricDeviation,
      low: summary.geometricMeanLow,
      high: summary.geometricMeanHigh,
    };
    return Math.log(names[figure as keyof typeof names]);
  }
  if (kind === 'contrast') return ownContrast(figure, own);
  const places = [...new Set(own.map(({ subject, ensemble }) => `${subject} ${ensemble}`))];
  const components = studyComponents(
    places.map((place) => {
      const [subject = '', ensemble = ''] = place.split(' ');
      const there = own.filter((row) => row.subject === subject && row.ensemble === ensemble);
      return { subject, ensemble, percents: there.map(({ value }) => value) };
    }),
  );
  return components[figure as 'subject'];
}

function ownContrast(figure: string, own: readonly SetRow[]): number {
  const [lower = '', upper = '', what = ''] = figure.split(' ');
  const ensembles = new Set(own.map(({ ensemble }) => ensemble)).size;
  const of = (ensemble: string): Parameters<typeof leakageRatio>[0] => ({
    ensemble,
    bySubject: new Map(
      own
        .filter((row) => row.ensemble === ensemble)
        .map(({ subject, value }) => [subject, { percent: value, below: false }]),
    ),
  });
  const ratio = leakageRatio(of(lower), of(upper), (ensembles * (ensembles - 1)) / 2);
  if (what === 'probability') return ratio.probability;
  return Math.log(what === 'mean' ? ratio.ratio : ratio[what as 'low' | 'high']);
}

/** Figures on which program and R differ by more than the fraction; near zero by more than the fraction itself. */
export function figuresApart(
  figures: ReadonlyMap<string, number>,
  sets: readonly SetRow[],
  fraction: number,
): { readonly key: string; readonly own: number; readonly ofR: number }[] {
  return [...figures]
    .map(([key, ofR]) => ({ key, own: ownFigure(key, sets), ofR }))
    .filter(({ own, ofR }) => !(Math.abs(own - ofR) <= fraction * Math.max(1, Math.abs(ofR))));
}
