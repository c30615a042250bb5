import type { Known, StudySummary } from './study-summary.ts';
import type { StudyTrial } from './study-trial.ts';

/** What is asked of a study to see what hangs on it. Nothing of it is ever kept. */
export interface WhatIf {
  /** Trials that are taken out of every figure, share and verdict. */
  readonly without: readonly string[];
  /** Name and version of a method: trials that hold an assessment by it count by that one; null: as they stand. */
  readonly method: string | null;
}

/** What a ratio says of two ensembles: which of them leaks more, as far as its interval shows it. */
export type RatioAnswer = 'upper-leaks-more' | 'lower-leaks-more' | 'not-told-apart' | 'no-ratio';

/** A figure as it stands and as it would be; percent of the challenge, or a ratio. */
export interface Changed {
  readonly standing: number | null;
  readonly whatIf: number | null;
  /** What-if over standing; null where one of them is not there. */
  readonly factor: number | null;
}

export interface ChangedRatio extends Changed {
  readonly lower: string;
  readonly upper: string;
  readonly standingAnswer: RatioAnswer;
  readonly whatIfAnswer: RatioAnswer;
}

/** A place of the study (probe null: whole trials): what would be another number. */
export interface ChangedPlace {
  readonly probe: string | null;
  readonly means: readonly (Changed & { readonly ensemble: string })[];
  readonly ratios: readonly ChangedRatio[];
}

export interface WhatIfDifference {
  /** Trials in the figures as they stand, and how many of them would not be. */
  readonly counted: number;
  readonly takenOut: number;
  /** Trials in the figures that would count by another assessment. */
  readonly otherwiseAssessed: number;
  readonly places: readonly ChangedPlace[];
  /** Subjects that keep a limit, of those of whom it can be told; null where it can be told of none. */
  readonly shares: readonly {
    readonly ensemble: string;
    readonly limitPercent: number;
    readonly standing: Kept | null;
    readonly whatIf: Kept | null;
  }[];
}

interface Kept {
  readonly passed: number;
  readonly count: number;
}

/** Trials named in a question that it cannot be asked of: not there, or in no figure as the study stands. */
export function askedInVain(trials: readonly StudyTrial[], standing: StudySummary, { without }: WhatIf): string[] {
  const there = new Set(trials.map(({ trial }) => trial));
  const counted = new Set(standing.roster.filter(({ leftOut }) => leftOut === null).map(({ trial }) => trial));
  return without.filter((trial) => !there.has(trial) || !counted.has(trial));
}

/** A summary as it stands beside the one of the same study with something otherwise. */
export function whatIfDifference(standing: StudySummary, whatIf: StudySummary): WhatIfDifference {
  const after = new Map(whatIf.roster.map((row) => [row.trial, row]));
  const counted = standing.roster.filter(({ leftOut }) => leftOut === null);
  const scopeOf = new Map(whatIf.scopes.map((scope) => [scope.probe, scope]));
  return {
    counted: counted.length,
    takenOut: counted.filter(({ trial }) => after.get(trial)?.leftOut !== null).length,
    otherwiseAssessed: counted.filter(({ trial, method }) => after.get(trial)?.method !== method).length,
    places: standing.scopes.map(({ probe, ensembles, ratios }) => {
      const other = scopeOf.get(probe);
      return {
        probe,
        means: ensembles.map(({ ensemble, summary }) => ({
          ensemble,
          ...changed(
            figureOf(summary, ({ geometricMean }) => geometricMean),
            figureOf(
              other?.ensembles.find((one) => one.ensemble === ensemble)?.summary,
              ({ geometricMean }) => geometricMean,
            ),
          ),
        })),
        ratios: ratios.map(({ lower, upper, ratio }) => {
          const there = other?.ratios.find((one) => one.lower === lower && one.upper === upper)?.ratio;
          return {
            ...{ lower, upper },
            ...changed(
              figureOf(ratio, (figure) => figure.ratio),
              figureOf(there, (figure) => figure.ratio),
            ),
            standingAnswer: answerOf(ratio),
            whatIfAnswer: answerOf(there),
          };
        }),
      };
    }),
    shares: standing.shares.map(({ ensemble, limitPercent, share }) => {
      const there = whatIf.shares.find((one) => one.ensemble === ensemble && one.limitPercent === limitPercent);
      return { ensemble, limitPercent, standing: kept(share), whatIf: kept(there?.share ?? null) };
    }),
  };
}

/** Places at which a ratio would say something else of its two ensembles. */
export function answersChangeAt({ places }: WhatIfDifference): (string | null)[] {
  return places.flatMap(({ probe, ratios }) =>
    ratios.some(({ standingAnswer, whatIfAnswer }) => standingAnswer !== whatIfAnswer) ? [probe] : [],
  );
}

function changed(standing: number | null, whatIf: number | null): Changed {
  return { standing, whatIf, factor: standing === null || whatIf === null ? null : whatIf / standing };
}

function figureOf<Figure>(known: Known<Figure> | undefined, of: (figure: Figure) => number): number | null {
  return known?.known === true ? of(known.figure) : null;
}

function answerOf(ratio: Known<{ readonly low: number; readonly high: number }> | undefined): RatioAnswer {
  if (ratio?.known !== true) return 'no-ratio';
  if (ratio.figure.low > 1) return 'upper-leaks-more';
  return ratio.figure.high < 1 ? 'lower-leaks-more' : 'not-told-apart';
}

function kept(share: Kept | null): Kept | null {
  return share === null ? null : { passed: share.passed, count: share.count };
}
