import { linkSync, rmSync } from 'node:fs';
import { findDriver } from '../../../drivers/registry.ts';
import type { ConnectionSettings } from '../../bridge/snapshot.ts';
import type { Timers } from '../../device/timers.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import type { InstrumentConfiguration, Rig } from '../../model/rig.ts';
import { presentConnection } from '../rig/running-rig.ts';
import { startRigProcess } from '../rig/start-rig-process.ts';
import type { RigProcess, StartRigProcessOptions } from '../rig/start-rig-process.ts';
import { createSharedLine } from '../transport/shared-line.ts';
import type { SharedLine } from '../transport/shared-line.ts';
import type { InstrumentSource } from './open-rig.ts';

/**
 * Opens a connection, through the guard where something on it is guarded.
 * @param instruments everything that is on it.
 */
export type OpenConnection = (
  connection: Connection,
  instruments: readonly string[],
  now: () => number,
) => Promise<Transport>;

interface KnownLine {
  readonly line: SharedLine;
  readonly baudRate: number | null;
  /** Who is on it, as last looked. */
  sharers: readonly string[];
  /** Who was on it when it was opened last; the guard knows of no others. */
  opened: { readonly sharers: readonly string[]; readonly opening: Promise<Transport> } | null;
}

/**
 * A rig of the laboratory. Instruments that can share a line and are connected to the same place do.
 * @param settingsOf where an instrument is now, asked anew at every attempt.
 * @param timers of the host.
 * @param isGuarded whether the guard must know of an instrument: a line that it joins is opened anew, with it.
 * @param today gives the port of a connection its present name. Errors as `PortDesk.today`.
 */
export function laboratorySource(
  rig: Rig,
  settingsOf: (instrument: string) => ConnectionSettings | null,
  timers: Timers,
  openConnection: OpenConnection,
  isGuarded: (instrument: string) => boolean,
  today: (
    configuration: InstrumentConfiguration,
    settings: ConnectionSettings,
  ) => Promise<ConnectionSettings> = (_, settings) => Promise.resolve(settings),
): InstrumentSource {
  const lines = new Map<string, KnownLine>();

  const sharesLine = ({ dialect, kind }: InstrumentConfiguration): boolean =>
    findDriver(kind, dialect).sharesLine === true;
  /** Whoever shares the line that is at this place today, besides the one who asks. */
  const othersAt = async (place: string, asking: InstrumentConfiguration): Promise<InstrumentConfiguration[]> => {
    const others = rig.instruments.filter((one) => one.instrument !== asking.instrument && sharesLine(one));
    const places = await Promise.all(
      others.map(async (one) => {
        const settings = settingsOf(one.instrument);
        // One that is not found today is on no line.
        const now = settings === null ? null : await today(one, settings).catch(() => null);
        return now === null ? null : placeOf(now);
      }),
    );
    return others.filter((_, index) => places[index] === place);
  };

  const openShared = async (
    instrument: string,
    settings: ConnectionSettings,
    sharers: readonly string[],
    now: () => number,
  ): Promise<Transport> => {
    const place = placeOf(settings);
    const baudRate = settings.kind === 'serial' ? settings.baudRate : null;
    let known = lines.get(place);
    if (known !== undefined && known.baudRate !== baudRate) {
      if (known.line.isOpen) {
        throw new ChambersideError(
          'port-busy',
          `the line ${place} is open at ${known.baudRate ?? 'no'} baud for another instrument`,
          `${rig.name}, ${instrument}`,
          'Give all instruments on one line the same baud rate, or this one a line of its own.',
        );
      }
      known = undefined;
    }
    if (known === undefined) {
      const connection = connectionOf(settings);
      const openLine = (clock: () => number): Promise<Transport> => {
        const { sharers: now } = made;
        const opening = openConnection(connection, now, clock);
        made.opened = { sharers: now, opening };
        return opening;
      };
      const made: KnownLine = { line: createSharedLine(openLine, timers), baudRate, sharers, opened: null };
      known = made;
      lines.set(place, made);
    }
    known.sharers = sharers;
    const { line, opened } = known;
    if (line.isOpen && opened !== null && isGuarded(instrument) && !opened.sharers.includes(instrument)) {
      // The others find their line closed, and open it again with this one.
      const transport = await opened.opening.catch(() => null);
      await transport?.close();
    }
    return line.open(now);
  };

  return {
    rig,
    placesThem: false,
    settings: settingsOf,
    async open(instrument, now) {
      const settings = settingsOf(instrument);
      if (settings === null) {
        throw new ChambersideError(
          'port-not-found',
          'nobody has said where it is connected',
          `${rig.name}, ${instrument}`,
          'Choose its port.',
        );
      }
      const configuration = rig.instruments.find((candidate) => candidate.instrument === instrument);
      if (configuration === undefined) throw new RangeError(`the rig has no instrument ${instrument}`);
      const present = await today(configuration, settings);
      const others = sharesLine(configuration) ? await othersAt(placeOf(present), configuration) : [];
      const onLine = [configuration, ...others];
      if (!sharesLine(configuration)) return openConnection(connectionOf(present), [instrument], now);
      const inOrder = rig.instruments.filter((one) => onLine.includes(one)).map((one) => one.instrument);
      return openShared(instrument, present, inOrder, now);
    },
    close: () => Promise.resolve(),
  };
}

function placeOf(settings: ConnectionSettings): string {
  return settings.kind === 'serial' ? settings.path : `${settings.host}:${settings.port}`;
}

function connectionOf(settings: ConnectionSettings): Connection {
  if (settings.kind === 'serial') {
    return { transport: 'serial', path: settings.path, baudRate: settings.baudRate };
  }
  return { transport: 'tcp', host: settings.host, port: settings.port };
}

/** The process behind a virtual rig, with the file that keeps its truth. */
export interface VirtualSource extends InstrumentSource {
  readonly process: RigProcess;
  readonly scenario: string;
  readonly seed: number;
  /** Gives the truth of this rig the name that belongs to a trial as well. */
  nameTruth(path: string): void;
}

export interface VirtualSourceOptions extends Omit<StartRigProcessOptions, 'wire' | 'truthFile'> {
  /** The wire to try first; pseudo-terminals fall back to TCP where there are none. */
  readonly wire: 'pty' | 'tcp';
  readonly truthFile: string;
  /** The truth file is only a name for the time of the rig: it goes with the rig, names given since stay. */
  readonly passing: boolean;
}

/** Starts the rig process. @throws ChambersideError `rig-process-failed`. */
export async function startVirtualSource(
  options: VirtualSourceOptions,
  openConnection: OpenConnection,
): Promise<VirtualSource> {
  const { wire, passing, truthFile, ...rest } = options;
  const start = (kind: 'pty' | 'tcp'): Promise<RigProcess> => startRigProcess({ ...rest, truthFile, wire: kind });
  let process: RigProcess;
  try {
    process = await start(wire);
  } catch (error) {
    if (wire !== 'pty' || !isChambersideError(error) || !/pseudo-terminal/.test(error.message)) throw error;
    // The refused process has made its truth file already.
    if (options.continueTruth !== true) rmSync(truthFile, { force: true });
    process = await start('tcp');
  }
  return {
    rig: process.rig,
    placesThem: true,
    process,
    scenario: options.scenario,
    seed: options.seed,
    settings: () => null,
    open: async (instrument, now) =>
      openConnection(presentConnection(process.connections, instrument), [instrument], now),
    nameTruth(path) {
      if (path !== truthFile) linkSync(truthFile, path);
    },
    async close() {
      await process.stop();
      if (passing) rmSync(truthFile, { force: true });
    },
  };
}
