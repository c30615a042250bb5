import type { CheckCourse, InstrumentHistory } from '../../bridge/register.ts';
import { checksTelling, resultsDuring, staysOf } from '../../calibration/register/courses.ts';
import type { Stay, TellingCheck } from '../../calibration/register/courses.ts';
import { foldRegister } from '../../calibration/register/register.ts';
import type { RegisteredEntry } from '../../calibration/register/register.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Rig } from '../../model/rig.ts';
import { openLaboratory } from '../store/laboratory.ts';
import type { Laboratory } from '../store/laboratory.ts';

/** What the register of a laboratory holds. */
export interface RegisterContent {
  readonly instruments: readonly RegisteredEntry[];
  /** Numbers of records that are not what was stored, or are gone. */
  readonly altered: readonly number[];
  /** Newest version of each. */
  readonly rigs: readonly Rig[];
}

/** A course shows as many as a year of weekly checks, nearly. */
const courseLength = 50;
/** Others may have worked at the same place since: so many checks of it are looked through. */
const soughtLength = 1000;

/** @throws ChambersideError as `openLaboratory`. */
export function readRegister(path: string, now: string): RegisterContent {
  const laboratory = openLaboratory(path, { wallClock: () => now });
  try {
    const { altered, records } = laboratory.register.read();
    const rigs = laboratory.list('rig').map(({ content }) => content);
    return { instruments: foldRegister(records), altered, rigs };
  } finally {
    laboratory.close();
  }
}

/** All that was put down of an instrument, with the courses of the checks that tell of it. As `readRegister`. */
export function readInstrumentHistory(path: string, instrument: string, now: string): InstrumentHistory {
  const laboratory = openLaboratory(path, { wallClock: () => now });
  try {
    const { records } = laboratory.register.read();
    const kind = foldRegister(records).find((entry) => entry.instrument === instrument)?.kind;
    if (kind === undefined) {
      const what = 'The register has no such instrument';
      throw new ChambersideError('instrument-not-found', what, instrument, 'Choose one of the list.');
    }
    const unreadable = new Set<number>();
    const stays = staysOf(instrument, records, Date.parse);
    const courses = coursesAt(stays, (at) => checksTelling(kind, at)).flatMap((one) => {
      const read = readCourse(laboratory, one);
      for (const number of read.unreadable) unreadable.add(number);
      return read.course === null ? [] : [read.course];
    });
    const own = records.filter(({ entry }) => entry.instrument === instrument);
    return { records: own, courses, unreadable: [...unreadable] };
  } finally {
    laboratory.close();
  }
}

/** Somebody who may put something down. @throws ChambersideError `person-not-found`, `pin-wrong`, `role-missing`. */
export async function requireTechnician(laboratory: Laboratory, code: string, pin: string): Promise<void> {
  const { roles } = await laboratory.verifyPin(code, pin);
  if (roles.includes('technician')) return;
  const remedy = 'Name a technician. Roles are given when a person is added.';
  throw new ChambersideError('role-missing', 'The person is no technician', code, remedy);
}

interface SoughtCourse extends TellingCheck {
  readonly rig: string;
  readonly stays: readonly Stay[];
}

/** One course for each check of a rig, however often the instrument came back to its place. */
function coursesAt(stays: readonly Stay[], telling: (at: Stay['at']) => readonly TellingCheck[]): SoughtCourse[] {
  const courses = new Map<string, SoughtCourse>();
  for (const stay of stays) {
    for (const one of telling(stay.at)) {
      const key = JSON.stringify([stay.rig, one.check, one.subject, one.figure]);
      const before = courses.get(key)?.stays ?? [];
      courses.set(key, { ...one, rig: stay.rig, stays: [...before, stay] });
    }
  }
  return [...courses.values()];
}

function readCourse(
  laboratory: Laboratory,
  { check, figure, rig, stays, subject }: SoughtCourse,
): { readonly course: CheckCourse | null; readonly unreadable: readonly number[] } {
  const { checks, unreadable } = laboratory.checks.course(rig, check, subject, soughtLength);
  const during = resultsDuring(checks, stays, figure).slice(0, courseLength);
  const results = during.map(({ madeAtMilliseconds, number, result, version }) => ({
    ...{ number, version, madeAtMilliseconds, result },
  }));
  if (results.length === 0) return { course: null, unreadable };
  const ports = laboratory.get('rig', rig)?.content.ports ?? [];
  const line = subject === null ? null : (ports.find(({ probe }) => probe === subject)?.label ?? subject);
  return { course: { rig, check, line, results }, unreadable };
}
