import type { CheckBeginning, CheckChoice } from '../../bridge/checks.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import { checkDefinitions } from '../../calibration/check/definitions.ts';
import type { RegisterEntry } from '../../calibration/register/record.ts';
import type { RegisteredEntry } from '../../calibration/register/register.ts';
import type { Rig } from '../../model/rig.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Series } from '../../model/series.ts';
import { versionToKeep } from '../../series/own-series.ts';
import { openLaboratory } from '../store/laboratory.ts';
import { requireTechnician } from './register-job.ts';
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

/** The laboratory after a change. */
export interface ChangedLaboratory extends LaboratoryContent {
  /** Of a series the version under which it is kept, of the register the number of the record; otherwise null. */
  readonly kept: number | null;
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
  /** Kept as `versionToKeep` says. `newest`: of its name, as whoever changed it saw; 0: none. */
  | { readonly change: 'series'; readonly series: Series; readonly newest: number }
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
    }
  /** Put down in the register by a technician who knows their PIN. `open`: the rig that is open now. */
  | {
      readonly change: 'register';
      readonly entry: RegisterEntry;
      readonly person: string;
      readonly pin: string;
      readonly open: Rig | null;
    };

/** A history shows as many as a year of weekly checks, nearly. */
const historyLength = 50;

/**
 * Opens the laboratory file, made when it is not there, for one change and one look. Errors as `Laboratory`, and
 * `action-refused` for a series of which somebody else has kept a newer version meanwhile.
 */
export async function performLaboratory(
  path: string,
  change: LaboratoryChange | null,
  now: string,
): Promise<ChangedLaboratory> {
  const laboratory = openLaboratory(path, { create: true, wallClock: () => now });
  try {
    const kept = change === null ? null : await make(laboratory, change, now);
    return {
      kept,
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

async function make(laboratory: Laboratory, change: LaboratoryChange, now: string): Promise<number | null> {
  switch (change.change) {
    case 'person':
      await laboratory.addPerson(change);
      return null;
    case 'rig': {
      const latest = laboratory.get('rig', change.rig.name)?.version ?? 0;
      laboratory.put('rig', { ...change.rig, version: latest + 1 });
      return null;
    }
    case 'series':
      return keepSeries(laboratory, change.series, change.newest);
    case 'connection':
      laboratory.connect(change.rig, change.instrument, change.settings);
      return null;
    case 'check': {
      const { beginning, ground, person } = change;
      const verdict = checkDefinitions[beginning.check].evaluate(ground.record, ground.rig);
      laboratory.checks.add({ ...verdict, ...beginning, at: now, person }, ground);
      return null;
    }
    case 'register': {
      const { entry, open, person, pin } = change;
      await requireTechnician(laboratory, person, pin);
      return laboratory.register.add(entry, person, null, open);
    }
  }
}

/** What somebody else kept is not passed over unseen: a change is made on the newest version. */
function keepSeries(laboratory: Laboratory, series: Series, seen: number): number {
  const newest = laboratory.get('series', series.name)?.content ?? null;
  const sameVersion = laboratory.get('series', series.name, series.version)?.content ?? null;
  const { isThere, version } = versionToKeep(series, newest, sameVersion);
  if (isThere) return version;
  const latest = newest?.version ?? 0;
  if (latest > seen) {
    const begun = seen === 0 ? 'when this was begun there was none' : `this was begun on version ${seen}`;
    throw new ChambersideError(
      'action-refused',
      `The laboratory has version ${latest} of it by now, and ${begun}`,
      `series ${series.name}`,
      `Give yours another name to keep both, or go back, open version ${latest} and change that.`,
    );
  }
  laboratory.put('series', { ...series, version });
  return version;
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
