import { type BootstrapRatio, bootstrapRatio } from './bootstrap.ts';
import type { Leakage } from './lognormal.ts';
import { known, type Known, type StudySummary } from './study-summary.ts';
import { subjectLeakage } from './study-trial.ts';

export interface StudyBootstrap {
  readonly probe: string | null;
  readonly lower: string;
  readonly upper: string;
  readonly drawn: Known<BootstrapRatio>;
}

/** Every ratio of a study by the bootstrap, in the order of its ratios; each with the same seed. */
export function bootstrapRatios({ roster, scopes, questions }: StudySummary, seed: number): StudyBootstrap[] {
  const bySubjectIn = (ensemble: string, probe: string | null): ReadonlyMap<string, Leakage> => {
    const trials = new Map<string, Leakage[]>();
    for (const row of roster) {
      const leakage = probe === null ? row.whole : (row.probes[probe] ?? null);
      if (row.leftOut !== null || row.ensemble !== ensemble || leakage === null) continue;
      trials.set(row.subject, [...(trials.get(row.subject) ?? []), leakage]);
    }
    return new Map([...trials].map(([subject, own]) => [subject, subjectLeakage(own)]));
  };
  return scopes.flatMap(({ probe, ratios }) =>
    ratios.map(({ lower, upper }) => {
      const of = (ensemble: string) => ({ ensemble, bySubject: bySubjectIn(ensemble, probe) });
      return {
        ...{ probe, lower, upper },
        drawn: known(() => bootstrapRatio(of(lower), of(upper), ratios.length, seed, questions.confidence)),
      };
    }),
  );
}
