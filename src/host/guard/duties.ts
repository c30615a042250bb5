import type { Rig } from '../../model/rig.ts';
import { putsLoad, solePort, usualGuard } from '../../model/rig.ts';
import type { GuardDuty } from '../../safety/guard/messages.ts';

/** What the guard of a rig does when nobody steers it: every load at rest, and the valve where the rig wants it. */
export function guardDuties(rig: Rig): GuardDuty[] {
  const { guard = usualGuard } = rig;
  const duties: GuardDuty[] = [];
  for (const { dialect, instrument, kind, settings } of rig.instruments) {
    if (putsLoad(kind) && guard.load) {
      duties.push({ instrument, kind, dialect, settings, act: { act: 'rest' } });
    }
    if (instrument === rig.selectorValve && guard.valve) {
      const { port } = solePort(rig, 'filtered-air');
      duties.push({ instrument, kind, dialect, settings, act: { act: 'select', port } });
    }
  }
  return duties;
}
