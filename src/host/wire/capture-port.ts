import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import type { Clock } from '../../device/timers.ts';
import type { Connection } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { putsLoad } from '../../model/rig.ts';
import type { InstrumentConfiguration } from '../../model/rig.ts';
import { tapTransport } from '../acquisition/tap.ts';
import { watchLines } from '../acquisition/wire-watch.ts';
import { openTransport } from '../transport/open.ts';
import { createReadlineFramer } from '../transport/readline-framer.ts';
import { beginCapture, createCaptureFile } from './capture.ts';
import { captureVersion } from './capture-file.ts';
import { createWireLog } from './wire-log.ts';
import type { CaptureState, WireCounts } from '../../bridge/wire.ts';

export interface CapturedPort {
  readonly capture: CaptureState;
  readonly counts: WireCounts;
}

/**
 * Opens one instrument without a rig, its driver included, and captures what goes over the wire until it is told to end
 * or the connection is lost.
 * @param ended resolves with why it shall end.
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
    const file = await createCaptureFile(path);
    const capture = beginCapture({
      ...{ log, clock, path, file, onChange: () => undefined },
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
    const tapped = tapTransport(transport, {
      received: (bytes, atMicroseconds) => log.chunk('in', atMicroseconds, bytes),
      sent: (bytes) => log.chunk('out', clock.now(), bytes),
    });
    let driverOnClose: ((reason: string) => void) | undefined;
    const lost = new Promise<string>((resolve) => {
      tapped.onClose((reason) => {
        driverOnClose?.(reason);
        resolve(`the connection was lost: ${reason}`);
      });
    });
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
    const why = await Promise.race([options.ended, lost]);
    const counts = log.counts(clock.now());
    session.end();
    await capture.end(why);
    return { capture: capture.state, counts };
  } finally {
    await transport.close();
  }
}
