import type { Rig } from '../../model/rig.ts';
import { solePort } from '../../model/rig.ts';
import type { GuardDuty } from '../../safety/guard/messages.ts';

/** Kinds of instruments whose load can hurt whoever stands or sits on it. */
const loadKinds: ReadonlySet<string> = new Set(['ergometer', 'treadmill']);

/** Whether the instrument puts a load on the subject. */
export function isLoad({ kind }: Pick<Rig['instruments'][number], 'kind'>): boolean {
  return loadKinds.has(kind);
}

/** What the guard of a rig does when nobody steers it: every load at rest, and the valve where the rig wants it. */
export function guardDuties(rig: Rig): GuardDuty[] {
  const duties: GuardDuty[] = [];
  for (const { dialect, instrument, kind, settings } of rig.instruments) {
    if (isLoad({ kind }) && rig.guard?.load !== false) {
      duties.push({ instrument, kind, dialect, settings, act: { act: 'rest' } });
    }
    if (instrument === rig.selectorValve && rig.guard?.valve === true) {
      const { port } = solePort(rig, 'filtered-air');
      duties.push({ instrument, kind, dialect, settings, act: { act: 'select', port } });
    }
  }
  return duties;
}
