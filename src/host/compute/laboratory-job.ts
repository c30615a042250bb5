import type { CheckBeginning, CheckChoice } from '../../bridge/checks.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import { checkDefinitions } from '../../calibration/check/definitions.ts';
import type { RegisteredEntry } from '../../calibration/register/register.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { KnownConnection, Laboratory, Person, Role } from '../store/laboratory.ts';
import type { CheckGround, KnownCheck } from '../store/laboratory-checks.ts';

/** What the laboratory file holds, as far as a running host needs it. */
export interface LaboratoryContent {
  /** In the order of registration, active ones only. */
  readonly people: readonly Person[];
  /** Newest version of each. */
  readonly rigs: readonly Rig[];
  readonly series: readonly Series[];
  readonly connections: readonly KnownConnection[];
  /** Newest of each check and port of every rig. */
  readonly checks: readonly KnownCheck[];
  /** Instruments of the register, as they stand; what is not what was stored is left out. */
  readonly register: readonly RegisteredEntry[];
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
  | { readonly change: 'series'; readonly series: Series }
  | {
      readonly change: 'connection';
      readonly rig: string;
      readonly instrument: string;
      readonly settings: ConnectionSettings;
    }
  /** Judged here, away from the thread that reads the ports. */
  | {
      readonly change: 'check';
      readonly beginning: CheckBeginning;
      readonly ground: CheckGround;
      readonly person: string;
    };

/** A history shows as many as a year of weekly checks, nearly. */
const historyLength = 50;

/** Opens the laboratory file, made when it is not there, for one change and one look. Errors as `Laboratory`. */
export async function performLaboratory(
  path: string,
  change: LaboratoryChange | null,
  now: string,
): Promise<LaboratoryContent> {
  const laboratory = openLaboratory(path, { create: true, wallClock: () => now });
  try {
    if (change !== null) await make(laboratory, change, now);
    return {
      people: laboratory.listPeople().filter((person) => person.active),
      rigs: laboratory.list('rig').map(({ content }) => content),
      series: laboratory.list('series').map(({ content }) => content),
      connections: laboratory.listConnections(),
      checks: laboratory.checks.newest(),
      register: laboratory.register.entries(),
    };
  } finally {
    laboratory.close();
  }
}

async function make(laboratory: Laboratory, change: LaboratoryChange, now: string): Promise<void> {
  switch (change.change) {
    case 'person':
      await laboratory.addPerson(change);
      return;
    case 'rig': {
      const latest = laboratory.get('rig', change.rig.name)?.version ?? 0;
      laboratory.put('rig', { ...change.rig, version: latest + 1 });
      return;
    }
    case 'series': {
      const latest = laboratory.get('series', change.series.name)?.version ?? 0;
      laboratory.put('series', { ...change.series, version: latest + 1 });
      return;
    }
    case 'connection':
      laboratory.connect(change.rig, change.instrument, change.settings);
      return;
    case 'check': {
      const { beginning, ground, person } = change;
      const verdict = checkDefinitions[beginning.check].evaluate(ground.record, ground.rig);
      laboratory.checks.add({ ...verdict, ...beginning, at: now, person }, ground);
    }
  }
}

/** The last checks of one kind, newest first. */
export function listCheckHistory(path: string, rig: string, choice: CheckChoice, now: string): KnownCheck[] {
  const laboratory = openLaboratory(path, { wallClock: () => now });
  try {
    return laboratory.checks.history(rig, choice.check, choice.subject, historyLength);
  } finally {
    laboratory.close();
  }
}

/** What a check was judged on. @throws ChambersideError as `LaboratoryChecks.ground`. */
export function readCheckGround(path: string, number: number, now: string): CheckGround | null {
  const laboratory = openLaboratory(path, { wallClock: () => now });
  try {
    return laboratory.checks.ground(number);
  } finally {
    laboratory.close();
  }
}
