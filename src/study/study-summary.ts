import { isChambersideError } from '../model/error-code.ts';
import { type Agreement, limitsOfAgreement } from './agreement.ts';
import { type StudyComponents, studyComponents } from './components.ts';
import { type Leakage, type LognormalSummary, lognormalSummary, upperToleranceLimit } from './lognormal.ts';
import { type EnsembleLeakages, type LeakageRatio, leakageRatio } from './ratio.ts';
import { type LimitShare, limitShares } from './limit-share.ts';
import { type StudyMark, studyMarks } from './study-marks.ts';
import {
  isHeldAgainstLimits,
  meanLimit,
  type RosterRow,
  rosterOf,
  type StudyTrial,
  subjectLeakage,
} from './study-trial.ts';

/** A figure, or in one sentence why there is none. */
export type Known<Figure> =
  | { readonly known: true; readonly figure: Figure }
  | { readonly known: false; readonly because: string };

/** What is asked of a study beside its own figures. */
export interface StudyQuestions {
  /** Of every interval, above 0.5 and below 1. */
  readonly confidence: number;
  /** Of the tolerance limit: share of the wearers, and how sure. */
  readonly coverage: number;
  readonly toleranceConfidence: number;
  /** Leakages of whole trials of which the passing share is asked, percent. */
  readonly limitsPercent: readonly number[];
}

export const usualQuestions: StudyQuestions = {
  confidence: 0.95,
  coverage: 0.8,
  toleranceConfidence: 0.9,
  limitsPercent: [],
};

export interface EnsembleSummary {
  readonly ensemble: string;
  readonly trials: number;
  readonly subjects: number;
  readonly summary: Known<LognormalSummary>;
  /** Percent of the challenge. */
  readonly tolerance: Known<number>;
}

export interface RatioRow {
  readonly lower: string;
  readonly upper: string;
  readonly ratio: Known<LeakageRatio>;
}

/** Everything about one scope: whole trials (probe null), or one probe. */
export interface ScopeSummary {
  readonly probe: string | null;
  /** Highest limit of any trial's value here, percent; null where no assessment knows one. */
  readonly detectionLimitPercent: number | null;
  readonly ensembles: readonly EnsembleSummary[];
  /** Every pair, in the order of the ensembles. Simultaneous within this scope. */
  readonly ratios: readonly RatioRow[];
  readonly components: Known<StudyComponents>;
}

export interface RosterCounts {
  readonly trials: number;
  readonly sealed: number;
  /** Of those that are not void. */
  readonly assessed: number;
  /** Of those that are not void. */
  readonly flagged: number;
  readonly void: number;
  readonly noResult: number;
  readonly virtual: number;
  /** In the figures. */
  readonly counted: number;
  readonly subjects: number;
}

export interface StudySummary {
  readonly questions: StudyQuestions;
  readonly counts: RosterCounts;
  readonly roster: readonly RosterRow[];
  /** In the order in which they were first worn. */
  readonly ensembles: readonly string[];
  /** The whole first, then probes in the order of the rig. */
  readonly scopes: readonly ScopeSummary[];
  readonly shares: readonly LimitShare[];
  /**
   * Second trial of a subject in an ensemble against the first, on natural logarithms of whole-trial leakage; one pair
   * of each subject, in the ensemble that they wore first of those worn twice. Parts of one trial are no two trials.
   */
  readonly repeats: Known<Agreement>;
  readonly marks: readonly StudyMark[];
}

/**
 * A study from its trials' summary rows: subjects are the unit of every interval, so that repeated trials of one do
 * not count as several wearers.
 * @param without trials to be taken out to see what hangs on them. Ensembles and probes keep their order, and no
 *   trial of the virtual rig takes the place of a real one.
 * @param like a summary of the same study whose ensembles and probes come first, in its order: read by another method
 *   other trials may be in the figures, and a ratio must not turn round.
 */
export function summariseStudy(
  trials: readonly StudyTrial[],
  questions: StudyQuestions,
  without: ReadonlySet<string> = new Set(),
  like: StudySummary | null = null,
): StudySummary {
  const standing = rosterOf(trials);
  const inFigures = standing.filter(({ leftOut }) => leftOut === null);
  const ensembles = [...new Set([...(like?.ensembles ?? []), ...inFigures.map(({ ensemble }) => ensemble)])];
  const before = (like?.scopes ?? []).flatMap(({ probe }) => (probe === null ? [] : [probe]));
  const probes = [...new Set([...before, ...inFigures.flatMap(({ probes: own }) => Object.keys(own))])];
  const roster = standing.map((row): RosterRow => {
    const isTakenOut = without.has(row.trial) && isHeldAgainstLimits(row);
    return isTakenOut ? { ...row, leftOut: 'what-if' } : row;
  });
  const counted = roster.filter(({ leftOut }) => leftOut === null);
  const whole = wholeTrials(trials, counted);
  const limitAt = (probe: string | null): number | null =>
    highestLimit(
      trials.filter((_, index) => roster[index]?.leftOut === null),
      probe,
    );
  const scopes = [null, ...probes].map((probe) => ({
    detectionLimitPercent: limitAt(probe),
    ...scopeSummary(probe, { counted, whole }, ensembles, questions),
  }));
  const limits = [
    ...new Set([
      ...questions.limitsPercent,
      ...trials.flatMap(({ requirementPercent }, index) => {
        const row = standing[index];
        const isAsked = row !== undefined && isHeldAgainstLimits(row);
        return requirementPercent === null || !isAsked ? [] : [requirementPercent];
      }),
    ]),
  ].sort((one, other) => one - other);
  const notVoid = roster.filter(({ leftOut }) => leftOut !== 'void');
  return {
    questions,
    counts: {
      trials: roster.length,
      sealed: count(roster, ({ sealed }) => sealed),
      assessed: count(notVoid, ({ assessed }) => assessed),
      flagged: count(notVoid, ({ cellsFlagged }) => cellsFlagged > 0),
      void: count(roster, ({ leftOut }) => leftOut === 'void'),
      noResult: count(roster, ({ leftOut }) => leftOut === 'no-result'),
      virtual: count(roster, ({ virtual }) => virtual),
      counted: counted.length,
      subjects: new Set(counted.map(({ subject }) => subject)).size,
    },
    roster,
    ensembles,
    scopes,
    shares: limits.flatMap((limit) =>
      ensembles.map((ensemble) =>
        limitShares(
          ensemble,
          limit,
          roster.filter((row) => row.ensemble === ensemble && isHeldAgainstLimits(row)),
          questions.confidence,
        ),
      ),
    ),
    repeats: repeatsOf(whole, questions.confidence),
    marks: studyMarks(roster, scopes),
  };
}

function count(roster: readonly RosterRow[], of: (row: RosterRow) => boolean): number {
  return roster.filter(of).length;
}

/** Without trials that go on where another was stopped, and without those: of other exercises, they repeat nothing. */
function wholeTrials(trials: readonly StudyTrial[], counted: readonly RosterRow[]): RosterRow[] {
  const parts = new Set(
    trials.flatMap(({ continues, trial }) => (continues === undefined ? [] : [trial, continues])),
  );
  return counted.filter(({ trial }) => !parts.has(trial));
}

function scopeSummary(
  probe: string | null,
  { counted, whole }: { readonly counted: readonly RosterRow[]; readonly whole: readonly RosterRow[] },
  ensembles: readonly string[],
  questions: StudyQuestions,
): Omit<ScopeSummary, 'detectionLimitPercent'> {
  const leakageOf = (row: RosterRow): Leakage | null => (probe === null ? row.whole : (row.probes[probe] ?? null));
  const wornIn = (rows: readonly RosterRow[]): { ensemble: string; bySubject: Map<string, Leakage[]> }[] =>
    ensembles.map((ensemble) => {
      const bySubject = new Map<string, Leakage[]>();
      for (const row of rows) {
        const leakage = row.ensemble === ensemble ? leakageOf(row) : null;
        if (leakage !== null) bySubject.set(row.subject, [...(bySubject.get(row.subject) ?? []), leakage]);
      }
      return { ensemble, bySubject };
    });
  const worn = wornIn(counted);
  const single = worn.map(
    ({ ensemble, bySubject }): EnsembleLeakages => ({
      ensemble,
      bySubject: new Map([...bySubject].map(([subject, leakages]) => [subject, subjectLeakage(leakages)])),
    }),
  );
  const pairs = single.flatMap((lower, index) => single.slice(index + 1).map((upper) => [lower, upper] as const));
  return {
    probe,
    ensembles: worn.map(({ ensemble, bySubject }, index) => {
      const leakages = [...(single[index] as EnsembleLeakages).bySubject.values()];
      return {
        ensemble,
        trials: [...bySubject.values()].reduce((sum, own) => sum + own.length, 0),
        subjects: bySubject.size,
        summary: known(() => lognormalSummary(leakages, questions.confidence)),
        tolerance: known(() => upperToleranceLimit(leakages, questions.coverage, questions.toleranceConfidence)),
      };
    }),
    ratios: pairs.map(([lower, upper]) => ({
      lower: lower.ensemble,
      upper: upper.ensemble,
      ratio: known(() => leakageRatio(lower, upper, pairs.length, questions.confidence)),
    })),
    components: known(() =>
      studyComponents(
        // Trials of one subject in one ensemble are replicates here.
        wornIn(whole).flatMap(({ ensemble, bySubject }) =>
          [...bySubject].map(([subject, leakages]) => ({
            subject,
            ensemble,
            percents: leakages.flatMap(({ percent, below }) => (below ? [] : [percent])),
            below: leakages.filter(({ below }) => below).length,
          })),
        ),
      ),
    ),
  };
}

function highestLimit(trials: readonly StudyTrial[], probe: string | null): number | null {
  const limits = trials.flatMap(({ cells }) => {
    const limit = meanLimit((cells ?? []).filter((cell) => probe === null || cell.probe === probe));
    return limit === null ? [] : [limit];
  });
  return limits.length === 0 ? null : limits.reduce((highest, limit) => Math.max(highest, limit));
}

function repeatsOf(rows: readonly RosterRow[], confidence: number): Known<Agreement> {
  const byPlace = new Map<string, { readonly subject: string; readonly logarithms: number[] }>();
  for (const { subject, ensemble, whole } of rows) {
    if (whole === null || whole.below) continue;
    const key = JSON.stringify([subject, ensemble]);
    const place = byPlace.get(key) ?? { subject, logarithms: [] };
    place.logarithms.push(Math.log(whole.percent));
    byPlace.set(key, place);
  }
  // Pairs of one subject are not independent, and their mean would scatter less than a pair does: the first stands.
  const bySubject = new Map<string, readonly [second: number, first: number]>();
  for (const { subject, logarithms } of byPlace.values()) {
    const [first, second] = logarithms;
    if (first === undefined || second === undefined || bySubject.has(subject)) continue;
    bySubject.set(subject, [second, first]);
  }
  return known(() => limitsOfAgreement([...bySubject.values()], confidence));
}

/** Figures outside their range are no failure of the study: each says why it is not there. */
export function known<Figure>(compute: () => Figure): Known<Figure> {
  try {
    return { known: true, figure: compute() };
  } catch (error) {
    if (isChambersideError(error, 'outside-validity')) {
      return { known: false, because: `${error.what.charAt(0).toUpperCase()}${error.what.slice(1)}. ${error.remedy}` };
    }
    throw error;
  }
}
