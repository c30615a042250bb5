import { probePorts } from '../model/rig.ts';
import type { Method } from '../model/method.ts';
import type { Rig } from '../model/rig.ts';

/** What a rig states and a method does not apply, in words; empty where nothing is passed over that would matter. */
export function notApplied(rig: Rig, method: Method): string[] {
  const found: string[] = [];
  for (const port of [...probePorts(rig), ...rig.ports.filter(({ role }) => role === 'reference')]) {
    const { dilution, penetration, probe } = port;
    if (!method.applyDilution && dilution.value !== 1) found.push(`dilution ${dilution.value} of ${probe}`);
    if (!method.applyPenetration && penetration.value !== 1) {
      found.push(`penetration ${penetration.value} of the line of ${probe}`);
    }
  }
  if (!method.applySpatialFactor && rig.spatialFactor.value !== 1) {
    found.push(`spatial factor ${rig.spatialFactor.value}`);
  }
  if (method.applyBreathingZone === false) {
    const zone = rig.ports.filter(({ breathingZone = false }) => breathingZone).map(({ probe }) => probe);
    if (zone.length > 0) found.push(`what is breathed out at ${zone.join(', ')}`);
  }
  if (!method.subtractBackground) found.push('the background of every probe');
  if (!method.lagCorrection) found.push(`the lag of the photometer (${rig.timeConstantSeconds.value} s)`);
  return found;
}
