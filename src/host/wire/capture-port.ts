import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { CaptureState, WireCounts } from '../../bridge/wire.ts';
import type { DriverManifest } from '../../device/driver.ts';
import type { Clock } from '../../device/timers.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { putsLoad } from '../../model/rig.ts';
import type { InstrumentConfiguration } from '../../model/rig.ts';
import { tapTransport } from '../acquisition/tap.ts';
import { watchLines } from '../acquisition/wire-watch.ts';
import { openTransport } from '../transport/open.ts';
import { createReadlineFramer } from '../transport/readline-framer.ts';
import { beginCapture, createCaptureFile } from './capture.ts';
import type { CaptureFile } from './capture.ts';
import { captureVersion } from './capture-file.ts';
import { createWireLog } from './wire-log.ts';
import type { WireLog } from './wire-log.ts';

export interface CapturedPort {
  readonly capture: CaptureState;
  readonly counts: WireCounts;
  /** Why the connection was lost; null where it was there to the end. */
  readonly lost: string | null;
  /** Entries that were gone from memory before the disk took them. */
  readonly missed: number;
}

/**
 * Opens one instrument without a rig, its driver included, and captures what goes over the wire until it is told to
 * end, the connection is lost, or the capture stops by itself.
 * @param ended resolves with why it shall end.
 * @param createFile what makes the file; absent: a new one on the disk.
 * @throws ChambersideError `action-refused` for a load, `driver-unknown`, `configuration-invalid`, `file-exists`,
 *   `port-not-found`, `port-busy`, `port-failed`.
 */
export async function capturePort(options: {
  readonly configuration: InstrumentConfiguration;
  readonly connection: Connection;
  readonly virtual: boolean;
  readonly path: string;
  readonly program: string;
  readonly clock: Clock;
  readonly ended: Promise<string>;
  readonly createFile?: (path: string) => Promise<CaptureFile>;
}): Promise<CapturedPort> {
  const { clock, configuration, path } = options;
  const { dialect, instrument, kind } = configuration;
  if (putsLoad(kind)) {
    const remedy = 'Open it with its rig, and capture it there.';
    throw new ChambersideError('action-refused', 'A load is opened only behind its guard', kind, remedy);
  }
  const manifest = findDriver(kind, dialect);
  const settings = parseSettings(manifest, instrument, configuration.settings);
  const transport = await openTransport(options.connection, () => clock.now());
  const log = createWireLog();
  try {
    const file = await (options.createFile ?? createCaptureFile)(path);
    let tellStopped: () => void = () => undefined;
    const stopped = new Promise<string>((resolve) => {
      tellStopped = () => {
        resolve('the capture has stopped');
      };
    });
    const capture = beginCapture({
      ...{ log, clock, path, file, onChange: () => tellStopped() },
      header: {
        format: 'chamberside-wire-capture',
        version: captureVersion,
        program: options.program,
        startedAt: new Date().toISOString(),
        rig: 'none',
        virtual: options.virtual,
        instrument: configuration,
        connection: transport.label,
      },
    });
    let why = 'the driver could not be opened';
    try {
      const driver = openDriver({ clock, instrument, log, manifest, settings, transport });
      why = await Promise.race([options.ended, driver.lost, stopped]);
      const counts = log.counts(clock.now());
      driver.end();
      await capture.end(why);
      return { capture: capture.state, counts, lost: driver.lostBecause, missed: capture.missed };
    } finally {
      await capture.end(why);
    }
  } finally {
    await transport.close();
  }
}

/** A driver in conversation, seen by a log. */
interface OpenDriver {
  /** Resolves with words for the end of the capture. */
  readonly lost: Promise<string>;
  /** Null while the connection is there. */
  readonly lostBecause: string | null;
  end(): void;
}

/** Errors as `DriverManifest.open`. */
function openDriver(options: {
  readonly clock: Clock;
  readonly instrument: string;
  readonly log: WireLog;
  readonly manifest: DriverManifest;
  readonly settings: unknown;
  readonly transport: Transport;
}): OpenDriver {
  const { clock, instrument, log, manifest, settings } = options;
  const tapped = tapTransport(options.transport, {
    received: (bytes, atMicroseconds) => log.chunk('in', atMicroseconds, bytes),
    sent: (bytes) => log.chunk('out', clock.now(), bytes),
  });
  let driverOnClose: ((reason: string) => void) | undefined;
  let lostBecause: string | null = null;
  let ended = false;
  const session = manifest.open({
    instrument,
    settings,
    transport: {
      ...tapped,
      onClose(listener) {
        driverOnClose = listener;
      },
    },
    timers: clock,
    lines: watchLines(createReadlineFramer, log),
    openedAtMicroseconds: clock.now(),
    sink: {
      reading: (_, __, atMicroseconds) => log.delivered(atMicroseconds),
      problem(code, detail, byteCount, atMicroseconds) {
        if (byteCount > 0) log.delivered(atMicroseconds);
        log.problem({ instrument, code, detail, byteCount, atMicroseconds });
      },
      understood: (_, atMicroseconds) => log.delivered(atMicroseconds),
    },
  });
  // After the driver has asked for its bytes: those that came before the end are read before it.
  const lost = new Promise<string>((resolve) => {
    tapped.onClose((reason) => {
      if (ended) return;
      lostBecause = reason;
      driverOnClose?.(reason);
      const problem = { instrument, detail: reason, byteCount: 0, atMicroseconds: clock.now() };
      log.problem({ ...problem, code: 'connection-lost' });
      resolve(`the connection was lost: ${reason}`);
    });
  });
  return {
    lost,
    get lostBecause() {
      return lostBecause;
    },
    end() {
      ended = true;
      session.end();
    },
  };
}
