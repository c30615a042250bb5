import { join } from 'node:path';
import type { CaptureState, WireView } from '../../bridge/wire.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { Rig } from '../../model/rig.ts';
import type { WireWatch } from '../acquisition/wire-watch.ts';
import { beginCapture, createCaptureFile } from '../wire/capture.ts';
import type { CaptureFile, RunningCapture } from '../wire/capture.ts';
import { captureEnding, captureVersion } from '../wire/capture-file.ts';
import { createWireLog } from '../wire/wire-log.ts';
import type { WireLog } from '../wire/wire-log.ts';
import { refusal } from './refusal.ts';

export interface WireDeskOptions {
  readonly rig: Rig;
  readonly virtual: boolean;
  readonly clock: Clock;
  readonly wallNow: () => Date;
  /** Where captures are put. */
  readonly folder: string;
  readonly program: string;
  /** The transport's label; null while it is not connected. */
  readonly connectionOf: (instrument: string) => string | null;
  /** Its line goes through the guard, and what the guard itself says there is not seen here. */
  readonly isGuarded: (instrument: string) => boolean;
  readonly onChange: () => void;
  /** What makes the file of a capture; absent: a new one on the disk. */
  readonly createFile?: (path: string) => Promise<CaptureFile>;
}

/** What goes over the wires of an open rig, to be looked at and to be kept. */
export interface WireDesk {
  readonly watch: (instrument: string) => WireWatch;
  /** @throws ChambersideError `action-refused` for an instrument that the rig has not. */
  read(instrument: string, after: number | null): WireView;
  /** The newest capture of an instrument. */
  capture(instrument: string): CaptureState | null;
  /** @throws ChambersideError `action-refused` while one runs, those of `createCaptureFile`. */
  beginCapture(instrument: string): Promise<CaptureState>;
  /** @throws ChambersideError `action-refused` while none runs. */
  endCapture(instrument: string): Promise<CaptureState>;
  /**
   * Ends every capture; resolves when their files are closed, or after 3 s: a disk that hangs holds up no rig. What it
   * has not taken by then may be missing in the file.
   */
  end(): Promise<void>;
}

/** Entries in one answer, and those that a window begins with. */
const mostEntries = 500;
const longestEndMicroseconds = 3_000_000;

export function createWireDesk(options: WireDeskOptions): WireDesk {
  const { clock, rig } = options;
  const logs = new Map<string, WireLog>(rig.instruments.map(({ instrument }) => [instrument, createWireLog()]));
  const captures = new Map<string, RunningCapture>();
  const opening = new Set<string>();
  let ended = false;

  const logOf = (instrument: string): WireLog => {
    const log = logs.get(instrument);
    if (log !== undefined) return log;
    throw refusal(`the rig has no instrument ${instrument}`, rig.name, 'Choose one of its instruments.');
  };
  const isRunning = (instrument: string): boolean => captures.get(instrument)?.state.state === 'running';
  const captureOf = (instrument: string): CaptureState | null => captures.get(instrument)?.state ?? null;

  return {
    watch: logOf,
    read(instrument, after) {
      const log = logOf(instrument);
      // A number that this log has not reached is of a rig that was open before.
      const from = after === null || after > log.newest ? Math.max(0, log.newest - mostEntries) : after;
      const { entries, missed, more } = log.read(from, mostEntries);
      const nowMicroseconds = clock.now();
      return {
        nowMicroseconds,
        entries: [...entries],
        missed: after === null ? 0 : missed,
        more,
        counts: log.counts(nowMicroseconds),
        capture: captureOf(instrument),
        guarded: options.isGuarded(instrument),
      };
    },
    capture: captureOf,
    async beginCapture(instrument) {
      const log = logOf(instrument);
      if (isRunning(instrument) || opening.has(instrument)) {
        throw refusal('it is being captured already', instrument, 'End that capture first.');
      }
      const configuration = rig.instruments.find((one) => one.instrument === instrument);
      if (configuration === undefined) throw new RangeError(instrument);
      const startedAt = options.wallNow().toISOString();
      const path = join(options.folder, `${instrument}-${startedAt.replaceAll(/[-:.]/g, '')}${captureEnding}`);
      opening.add(instrument);
      try {
        const file = await (options.createFile ?? createCaptureFile)(path);
        if (ended) {
          await file.close();
          throw refusal('the rig is being closed', rig.name, 'Open it again first.');
        }
        const capture = beginCapture({
          ...{ log, clock, path, file, onChange: options.onChange },
          header: {
            format: 'chamberside-wire-capture',
            version: captureVersion,
            program: options.program,
            startedAt,
            rig: rig.name,
            virtual: options.virtual,
            instrument: configuration,
            connection: options.connectionOf(instrument),
            ...(options.isGuarded(instrument) ? { guarded: true } : {}),
          },
        });
        captures.set(instrument, capture);
        options.onChange();
        return capture.state;
      } finally {
        opening.delete(instrument);
      }
    },
    async endCapture(instrument) {
      logOf(instrument);
      const capture = captures.get(instrument);
      if (capture === undefined || !isRunning(instrument)) {
        throw refusal('it is not being captured', instrument, 'Begin a capture first.');
      }
      await capture.end('ended by a person');
      return capture.state;
    },
    async end() {
      ended = true;
      let cancel: Cancel | undefined;
      const late = new Promise<void>((resolve) => {
        cancel = clock.after(longestEndMicroseconds, resolve);
      });
      const ends = Promise.all([...captures.values()].map((capture) => capture.end('the rig was closed')));
      await Promise.race([ends, late]);
      cancel?.();
    },
  };
}
