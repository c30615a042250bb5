import type { ConnectionSettings, InstrumentState, ValveState } from '../../bridge/snapshot.ts';
import type { Actuator, PortSelector } from '../../device/driver.ts';
import type { LineFramerFactory } from '../../device/framing.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { Transport } from '../../device/transport.ts';
import { isChambersideError } from '../../model/error-code.ts';
import type { Problem, Reading } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import { toMicroseconds } from '../../model/time.ts';
import { findDriver, parseSettings } from '../../../drivers/registry.ts';
import { createAcquisition } from '../acquisition/acquisition.ts';
import type { AcquisitionSink, ByteAccount } from '../acquisition/acquisition.ts';
import type { WireDesk } from './wire-desk.ts';
import { createValveWatch } from './valve-watch.ts';

/** Where the instruments of a rig are reached. */
export interface InstrumentSource {
  readonly rig: Rig;
  /** It knows by itself where its instruments are: nobody has to say. */
  readonly placesThem: boolean;
  /** @throws ChambersideError `port-not-found`, `port-busy`, `port-failed` while it cannot be reached. */
  open(instrument: string, now: () => number): Promise<Transport>;
  /** Where the laboratory says that it is; null when nobody has said, and where nobody has to. */
  settings(instrument: string): ConnectionSettings | null;
  close(): Promise<void>;
}

/**
 * A rig whose instruments are kept open, whether or not a trial runs. Its clock is the host's own; whoever records a
 * trial attaches and converts.
 */
export interface OpenRig {
  readonly rig: Rig;
  readonly streams: readonly StreamDescriptor[];
  readonly instruments: readonly InstrumentState[];
  readonly valve: ValveState;
  /** The valve's verb, watched; undefined while it is not connected. */
  selector(): PortSelector | undefined;
  /** What can be set of an instrument; undefined while it is not connected, and where nothing can. */
  actuator(instrument: string): Actuator | undefined;
  isConnected(instrument: string): boolean;
  bytes(instrument: string): ByteAccount;
  /** Resolves when every instrument has been connected once. */
  connected(): Promise<void>;
  /** Tries a lost instrument again at once. */
  retry(instrument: string): void;
  /** Leaves today's connection and opens the one that the source names now. */
  reconnect(instrument: string): Promise<void>;
  /** Everything that comes from the instruments goes here first, until it is detached. One at a time. */
  attach(sink: AcquisitionSink): () => void;
  /** Ends conversations and gives every port back. */
  close(): Promise<void>;
}

export interface OpenRigOptions {
  readonly source: InstrumentSource;
  readonly clock: Clock;
  readonly lines: LineFramerFactory;
  /** What a person should know of an instrument at this moment besides what its dialect says, each a sentence. */
  readonly remarks?: (configuration: Rig['instruments'][number]) => string[];
  /** Sees the wires; ends with the rig. Absent: nobody does. */
  readonly wires?: WireDesk;
  /** After whoever is attached. */
  readonly onReading: (streamIndex: number, reading: Reading) => void;
  readonly onProblem: (problem: Problem) => void;
  /** An instrument or the valve has changed its state. */
  readonly onChange: () => void;
}

interface Known {
  transport: Transport | null;
  connectedOnce: boolean;
  reconnects: number;
  failure: string | null;
  readings: number;
  problems: number;
}

const longestRetrySeconds = 2;
const lookMicroseconds = 250_000;

/** What its dialect says of these settings. Errors as `createAcquisition`. */
function remarksOf({ dialect, instrument, kind, settings }: Rig['instruments'][number]): string[] {
  const manifest = findDriver(kind, dialect);
  return manifest.remarks?.(parseSettings(manifest, instrument, settings)) ?? [];
}

/** Opens the instruments and keeps them open. Errors as `createAcquisition`. */
export function openRig(options: OpenRigOptions): OpenRig {
  const { source, clock } = options;
  const { rig } = source;
  const openedAt = clock.now();
  const known = new Map<string, Known>();
  for (const { instrument } of rig.instruments) {
    known.set(instrument, {
      transport: null,
      connectedOnce: false,
      reconnects: 0,
      failure: null,
      readings: 0,
      problems: 0,
    });
  }
  const remarks = new Map(rig.instruments.map((one) => [one.instrument, remarksOf(one)] as const));
  const of = (instrument: string): Known => {
    const found = known.get(instrument);
    if (found === undefined) throw new RangeError(`the rig has no instrument ${instrument}`);
    return found;
  };
  let attached: AcquisitionSink | null = null;
  let closing: Promise<void> | undefined;
  let cancelLook: Cancel | undefined;
  let shown = '';
  const valve = createValveWatch(clock.now, options.onChange);

  const openTransport = async (instrument: string): Promise<Transport> => {
    const entry = of(instrument);
    try {
      const transport = await source.open(instrument, clock.now);
      entry.transport = transport;
      entry.failure = null;
      if (entry.connectedOnce) entry.reconnects += 1;
      entry.connectedOnce = true;
      options.onChange();
      return transport;
    } catch (error) {
      entry.failure = isChambersideError(error) ? error.message : String(error);
      options.onChange();
      throw error;
    }
  };

  const acquisition = createAcquisition({
    rig,
    clock,
    lines: options.lines,
    openTransport,
    longestRetrySeconds,
    ...(options.wires === undefined ? {} : { watch: options.wires.watch }),
    sink: {
      wire: (instrumentIndex, direction, atMicroseconds, bytes) =>
        attached?.wire(instrumentIndex, direction, atMicroseconds, bytes),
      reading(streamIndex, reading) {
        attached?.reading(streamIndex, reading);
        const entry = of(reading.instrument);
        entry.readings += 1;
        lastReading[streamIndex] = reading.atMicroseconds;
        options.onReading(streamIndex, reading);
      },
      problem(problem) {
        attached?.problem(problem);
        const entry = of(problem.instrument);
        entry.problems += 1;
        if (problem.code === 'connection-lost') {
          entry.transport = null;
          entry.failure = problem.detail;
          if (problem.instrument === rig.selectorValve) valve.lost();
          options.onChange();
        }
        options.onProblem(problem);
      },
    },
  });
  const { streams } = acquisition;
  const lastReading: (number | undefined)[] = streams.map(() => undefined);

  const silentStream = (instrument: string): StreamDescriptor | undefined =>
    streams.find((stream, index) => {
      if (stream.instrument !== instrument || stream.silenceLimitSeconds === null) return false;
      const last = lastReading[index] ?? openedAt;
      return clock.now() - last > toMicroseconds(stream.silenceLimitSeconds);
    });

  const stateOf = (configuration: Rig['instruments'][number]): InstrumentState => {
    const { instrument, kind, dialect } = configuration;
    const entry = of(instrument);
    const settings = source.settings(instrument);
    const live = acquisition.isConnected(instrument);
    const silent = live ? silentStream(instrument) : undefined;
    const state = live
      ? silent === undefined
        ? 'live'
        : 'silent'
      : entry.connectedOnce
        ? 'lost'
        : settings === null && !source.placesThem
          ? 'unconnected'
          : entry.failure === null
            ? 'connecting'
            : 'unreached';
    const detail =
      state === 'live'
        ? null
        : silent !== undefined
          ? `No reading of ${silent.stream} for more than ${silent.silenceLimitSeconds ?? 0} s.`
          : state === 'unconnected'
            ? 'Nobody has said where it is connected.'
            : (entry.failure ?? 'It is being opened.');
    return {
      instrument,
      kind,
      dialect,
      state,
      connection: live ? (entry.transport?.label ?? null) : null,
      settings,
      detail,
      remarks: [...(remarks.get(instrument) ?? []), ...(options.remarks?.(configuration) ?? [])],
      reconnects: entry.reconnects,
      readings: entry.readings,
      problems: entry.problems,
      capture: options.wires?.capture(instrument) ?? null,
    };
  };
  const instruments = (): InstrumentState[] => rig.instruments.map(stateOf);

  /** Silence begins without an event; so do second thoughts about it. */
  const look = (): void => {
    cancelLook = clock.after(lookMicroseconds, look);
    const states = instruments()
      .map(({ state }) => state)
      .join();
    if (states === shown) return;
    shown = states;
    options.onChange();
  };
  acquisition.begin();
  look();

  return {
    rig,
    streams,
    get instruments() {
      return instruments();
    },
    get valve() {
      return valve.state;
    },
    selector() {
      const selector = acquisition.selector();
      return selector === undefined ? undefined : valve.watch(selector);
    },
    actuator: (instrument) => acquisition.actuator(instrument),
    isConnected: (instrument) => acquisition.isConnected(instrument),
    bytes: (instrument) => acquisition.bytes(instrument),
    connected: () => acquisition.connected(),
    retry: (instrument) => acquisition.retry(instrument),
    async reconnect(instrument) {
      // What was said of the place before is not about this one.
      of(instrument).failure = null;
      await of(instrument).transport?.close();
      acquisition.retry(instrument);
    },
    attach(sink) {
      if (attached !== null) throw new RangeError('the rig is recorded already');
      attached = sink;
      return () => {
        if (attached === sink) attached = null;
      };
    },
    close() {
      closing ??= (async () => {
        cancelLook?.();
        // Whatever does not end as it should: captures get their end, and the source is closed.
        try {
          await acquisition.end();
        } finally {
          try {
            await options.wires?.end();
          } finally {
            await source.close();
          }
        }
      })();
      return closing;
    },
  };
}
