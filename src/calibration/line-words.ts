import { significant } from '../model/number-text.ts';
import type { Port, Rig } from '../model/rig.ts';
import { lineGeometry } from './line-geometry.ts';
import type { LineFlow } from './line-geometry.ts';

export const flowWords: Readonly<Record<LineFlow, string>> = {
  laminar: 'laminar',
  unsure: 'between laminar and turbulent',
  turbulent: 'turbulent',
};

/** What a port's stated transit cannot be, in words; null where it agrees with the line or nothing can be said. */
export function transitRemark(rig: Pick<Rig, 'lineLitresPerMinute'>, port: Port): string | null {
  const line = lineGeometry(rig, port);
  if (line === null || line.standing === 'agrees') return null;
  const stated = `the stated transit of ${significant(port.transitSeconds.value, 2)} s`;
  const held = `${significant(line.millilitres, 2)} mL in the line`;
  const mean = `${held} pass in ${significant(line.plugSeconds, 2)} s on average`;
  const can =
    line.standing === 'too-short'
      ? `${stated} is shorter than any air can take: ${mean}, the fastest in ${significant(line.frontSeconds, 2)} s`
      : `${stated} is too long for this line: ${mean}; three times what it takes with its fittings` +
        `${port.dilution.value > 1 ? ' and the dilution' : ''} are ${significant(line.latestSeconds, 2)} s`;
  return `${port.label}, port ${port.port}: ${can}. Check length, bore, flow and transit.`;
}

/** All remarks of a rig, in the order of its ports. */
export function transitRemarks(rig: Rig): string[] {
  return rig.ports.flatMap((port) => transitRemark(rig, port) ?? []);
}
