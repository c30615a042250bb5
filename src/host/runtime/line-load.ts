import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import { samePort } from '../../device/port-identity.ts';
import { overload } from '../../device/wire-load.ts';
import type { WireLoad } from '../../device/wire-load.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { InstrumentConfiguration, Rig } from '../../model/rig.ts';

/** What an instrument sends at the least under its settings. Errors as `findDriver` and `parseSettings`. */
export function loadOf({ dialect, instrument, kind, settings }: InstrumentConfiguration): WireLoad | null {
  const manifest = findDriver(kind, dialect);
  return manifest.wireLoad?.(parseSettings(manifest, instrument, settings)) ?? null;
}

/** Whether both are said to be at one place. */
export function isSamePlace(one: ConnectionSettings, other: ConnectionSettings): boolean {
  if (one.kind === 'serial') return other.kind === 'serial' && samePort(one, other);
  return other.kind === 'tcp' && one.host === other.host && one.port === other.port;
}

/** Everything that is on the line of an instrument when that is where `settings` says, itself first. */
export function onLine(
  rig: Rig,
  instrument: string,
  settings: ConnectionSettings,
  settingsOf: (instrument: string) => ConnectionSettings | null,
): InstrumentConfiguration[] {
  const sharesLine = ({ dialect, kind }: InstrumentConfiguration): boolean =>
    findDriver(kind, dialect).sharesLine === true;
  const own = rig.instruments.filter((one) => one.instrument === instrument);
  const others = rig.instruments.filter((one) => {
    const its = one.instrument === instrument || !sharesLine(one) ? null : settingsOf(one.instrument);
    return its !== null && isSamePlace(its, settings);
  });
  return own.every(sharesLine) ? [...own, ...others] : own;
}

/**
 * Refuses a serial line that cannot carry what the settings of its instruments say.
 * @param instruments everything that is on this line.
 * @param where rig and instrument, for the message.
 * @throws ChambersideError `configuration-invalid`, with the arithmetic.
 */
export function refuseOverload(
  settings: ConnectionSettings,
  instruments: readonly InstrumentConfiguration[],
  where: string,
): void {
  if (settings.kind !== 'serial') return;
  const loads = instruments.flatMap((configuration) => loadOf(configuration) ?? []);
  const problem = overload(loads, settings.baudRate);
  if (problem === null) return;
  const names = instruments.map(({ instrument }) => instrument).join(' and ');
  throw new ChambersideError(
    'configuration-invalid',
    `${settings.path} at ${settings.baudRate} baud is too slow for ${names}: ${problem}`,
    where,
    'Set instrument and port to a higher baud rate, let it send less often, or correct the interval in its settings.',
  );
}
