import type { Snapshot, StudyRow, TrialRow } from '../../src/bridge/snapshot.ts';

/** A trial that was not closed, with the study that holds it. */
export interface Unfinished {
  readonly study: StudyRow;
  readonly trial: TrialRow;
}

/** Trials that were under way when a host ended, newest first; none that is under way here. */
export function unfinishedTrials(snapshot: Snapshot): Unfinished[] {
  return snapshot.studies
    .flatMap((study) => study.trials.map((trial) => ({ study, trial })))
    .filter(({ trial }) => trial.standing === 'interrupted' && trial.trial !== snapshot.trial?.trial)
    .sort((one, other) => (one.trial.createdAt < other.trial.createdAt ? 1 : -1));
}

/** The next thing to do: from an empty laboratory to a rig, to a trial, to the console. */
export type NextStep = 'console' | 'start-virtual-rig' | 'wait-for-rig' | 'plan-trial';

export function nextStep(snapshot: Snapshot): NextStep {
  if (snapshot.trial !== null) return 'console';
  if (snapshot.rig.state === 'opening' || snapshot.rig.state === 'closing') return 'wait-for-rig';
  return snapshot.rig.state === 'open' ? 'plan-trial' : 'start-virtual-rig';
}

/** Studies that a person looks for first: those that can be read, by their newest trial, then by their age. */
export function studiesInOrder(studies: readonly StudyRow[]): StudyRow[] {
  const newest = (study: StudyRow): string =>
    study.trials.reduce(
      (latest, trial) => (trial.createdAt > latest ? trial.createdAt : latest),
      study.createdAt ?? '',
    );
  return [...studies].sort((one, other) => {
    const damaged = Number(one.failure !== null) - Number(other.failure !== null);
    if (damaged !== 0) return damaged;
    return newest(one) < newest(other) ? 1 : newest(one) > newest(other) ? -1 : 0;
  });
}
