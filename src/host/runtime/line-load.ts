import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import { samePort } from '../../device/port-identity.ts';
import { overload, overloadFollows } from '../../device/wire-load.ts';
import type { WireLoad } from '../../device/wire-load.ts';
import type { InstrumentConfiguration, Rig } from '../../model/rig.ts';

const knownLoads = new WeakMap<InstrumentConfiguration, WireLoad | null>();

/** What an instrument sends at the least under its settings. Errors as `findDriver` and `parseSettings`. */
export function loadOf(configuration: InstrumentConfiguration): WireLoad | null {
  const { dialect, instrument, kind, settings } = configuration;
  let load = knownLoads.get(configuration);
  if (load === undefined) {
    const manifest = findDriver(kind, dialect);
    load = manifest.wireLoad?.(parseSettings(manifest, instrument, settings)) ?? null;
    knownLoads.set(configuration, load);
  }
  return load;
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
 * What is to be said of a serial line that cannot carry what the settings of its instruments say, with the arithmetic,
 * as sentences; null: it can. Nothing is refused for it: what the program asks for comes more slowly then, and what an
 * instrument sends by itself may be less often than its settings say.
 * @param instruments everything that is on this line.
 */
export function overloadRemark(
  settings: ConnectionSettings,
  instruments: readonly InstrumentConfiguration[],
): string | null {
  if (settings.kind !== 'serial') return null;
  const problem = overload(
    instruments.flatMap((configuration) => loadOf(configuration) ?? []),
    settings.baudRate,
  );
  if (problem === null) return null;
  const names = instruments.map(({ instrument }) => instrument).join(' and ');
  return `${settings.baudRate} baud is too slow for what the settings of ${names} say: ${problem}. ${overloadFollows}`;
}
