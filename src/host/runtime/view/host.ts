import type { Snapshot, StudyRow } from '../../../bridge/snapshot.ts';
import { probePorts } from '../../../model/rig.ts';
import { nominalSeconds } from '../../../series/timetable.ts';
import { offeredScenarios } from '../../rig/offers.ts';
import { offeredSeries } from '../offered-series.ts';
import type { LaboratoryDesk } from '../laboratory-desk.ts';
import type { RigDesk } from '../rig-desk.ts';
import type { TrialUnderWay } from '../trial-under-way.ts';

export interface HostViewInput {
  readonly host: Snapshot['host'];
  readonly person: string | null;
  readonly laboratory: LaboratoryDesk;
  readonly studies: readonly StudyRow[];
  readonly rigs: Pick<RigDesk, 'state' | 'opened' | 'virtual'>;
  readonly trial: TrialUnderWay | null;
  readonly replay: Snapshot['replay'];
}

const scenarios = offeredScenarios();

/** Everything that a window shows besides samples, as of now. */
export function hostView(input: HostViewInput): Omit<Snapshot, 'version'> {
  const { laboratory, rigs, trial } = input;
  const opened = rigs.opened?.rig ?? null;
  const probes = opened === null ? 5 : probePorts(opened).length;
  return {
    host: input.host,
    person: laboratory.people.find((person) => person.code === input.person) ?? null,
    people: [...laboratory.people],
    studies: input.studies.map((study) => withTrial(study, trial)),
    rigs: laboratory.content.rigs.map(({ name, version, virtual }) => ({ name, version, virtual })),
    series: offeredSeries(laboratory, rigs).map(({ series }) => ({
      name: series.name,
      version: series.version,
      source: series.source,
      exercises: series.exercises.length,
      durationSeconds: nominalSeconds(series, probes),
    })),
    scenarios: [...scenarios],
    rig:
      opened === null
        ? rigs.state([])
        : rigs.state(laboratory.checksOf(opened), laboratory.supports(opened).certificates ?? []),
    trial: trial?.view() ?? null,
    alarms: trial?.alarms ?? [],
    limitsWatched: trial?.limitsWatched ?? 0,
    record: trial?.record ?? null,
    replay: input.replay,
  };
}

/** The list is read from disk now and then; what is recorded here is known better. */
function withTrial(study: StudyRow, trial: TrialUnderWay | null): StudyRow {
  if (trial === null || trial.file !== study.file || trial.ending === 'done' || trial.ending === 'failed') return study;
  return {
    ...study,
    trials: study.trials.map((row) =>
      row.trial === trial.header.trial
        ? { ...row, standing: 'under-way' as const, recordedSeconds: trial.recordedSeconds }
        : row,
    ),
  };
}
