import type { CheckResult, ConnectionSettings } from '../../bridge/snapshot.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { KnownCheck, KnownConnection, Laboratory, Person, Role } from '../store/laboratory.ts';

/** What the laboratory file holds, as far as a running host needs it. */
export interface LaboratoryContent {
  /** In the order of registration, active ones only. */
  readonly people: readonly Person[];
  /** Newest version of each. */
  readonly rigs: readonly Rig[];
  readonly series: readonly Series[];
  readonly connections: readonly KnownConnection[];
  readonly checks: readonly KnownCheck[];
}

export type LaboratoryChange =
  | {
      readonly change: 'person';
      readonly code: string;
      readonly name: string;
      readonly roles: Role[];
      readonly pin: string;
    }
  /** Stored under the next free version, whatever version it names. */
  | { readonly change: 'rig'; readonly rig: Rig }
  | {
      readonly change: 'connection';
      readonly rig: string;
      readonly instrument: string;
      readonly settings: ConnectionSettings;
    }
  | { readonly change: 'check'; readonly rig: string; readonly version: number; readonly result: CheckResult };

/** Opens the laboratory file, made when it is not there, for one change and one look. Errors as `Laboratory`. */
export async function performLaboratory(
  path: string,
  change: LaboratoryChange | null,
  now: string,
): Promise<LaboratoryContent> {
  const laboratory = openLaboratory(path, { create: true, wallClock: () => now });
  try {
    if (change !== null) await make(laboratory, change);
    return {
      people: laboratory.listPeople().filter((person) => person.active),
      rigs: laboratory.list('rig').map(({ content }) => content),
      series: laboratory.list('series').map(({ content }) => content),
      connections: laboratory.listConnections(),
      checks: laboratory.listChecks(),
    };
  } finally {
    laboratory.close();
  }
}

async function make(laboratory: Laboratory, change: LaboratoryChange): Promise<void> {
  switch (change.change) {
    case 'person':
      await laboratory.addPerson(change);
      return;
    case 'rig': {
      const latest = laboratory.get('rig', change.rig.name)?.version ?? 0;
      laboratory.put('rig', { ...change.rig, version: latest + 1 });
      return;
    }
    case 'connection':
      laboratory.connect(change.rig, change.instrument, change.settings);
      return;
    case 'check':
      laboratory.addCheck(change.rig, change.version, change.result);
  }
}
